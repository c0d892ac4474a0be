"""Voice: hear a spoken answer under its question's own grammar, and speak replies, offline."""
