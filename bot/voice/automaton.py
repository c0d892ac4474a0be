"""A question's grammar as an automaton over tokens: which may come next, after each.

The grammar is a net of letters, explored only as far as needed. Results are cached, and dropped
when they grow too large.
"""

from collections import OrderedDict
from collections.abc import Iterable

from bot.voice.vocabulary import SPACE, Branch
from flows.hearing.hearable import Again, Either, Row, Sayings, Shape, Text, word_of

MOST_STATES = 1_000
"""States of a grammar whose tokens are cached before the cache is cleared."""
MOST_GRAMMARS = 8
"""Grammars in the cache, the last used."""
_MARKS = Either((Text("."), Text(","), Text("!"), Row(())))
_JOINED = Either((Text(" "), Text("-"), Text(", ")))

State = frozenset[int]


class Automaton:
    """Which tokens may follow, from the start of a text to its end.

    Parameters
    ----------
    shape
        The grammar.
    branches
        The recogniser's tokens, letter by letter.
    """

    def __init__(self, shape: Shape, branches: Branch) -> None:
        self._moves: list[dict[str, list[int]]] = []
        self._free: list[list[int]] = []
        start, end = self._net(Row((Text(" "), shape, _MARKS)))
        self._end = end
        self._branches = branches
        self._next: dict[State, dict[int, State]] = {}
        self._states: dict[State, State] = {}
        self.start = self._closed((start,))

    def next(self, state: State) -> dict[int, State]:
        """Return the tokens that may follow, each with the state after it."""
        found = self._next.get(state)
        if found is None:
            if len(self._next) >= MOST_STATES:
                self._next.clear()
                self._states.clear()
            found = self._next[state] = self._explored(state)
        return found

    def may_end(self, state: State) -> bool:
        """Say whether the text may end here."""
        return self._end in state

    def accepts(self, text: str) -> bool:
        """Say whether a whole text belongs to this grammar."""
        state = self.start
        for letter in f" {text}":
            state = self._moved(state, SPACE if letter == " " else letter)
        return self.may_end(state)

    def _explored(self, state: State) -> dict[int, State]:
        found: dict[int, State] = {}
        todo: list[tuple[Branch, State]] = [(self._branches, state)]
        while todo:
            branch, at = todo.pop()
            for letter in {letter for node in at for letter in self._moves[node]}:
                inner = branch.get(letter)
                if not isinstance(inner, dict):
                    continue
                after = self._moved(at, letter)
                token = inner.get(None)
                if isinstance(token, int):
                    found[token] = self._states.setdefault(after, after)
                todo.append((inner, after))
        return found

    def _moved(self, state: State, letter: str) -> State:
        return self._closed(to for node in state for to in self._moves[node].get(letter, ()))

    def _closed(self, states: Iterable[int]) -> State:
        found = set(states)
        todo = list(found)
        while todo:
            for to in self._free[todo.pop()]:
                if to not in found:
                    found.add(to)
                    todo.append(to)
        # Nodes with free moves only add nothing to the state.
        return frozenset(node for node in found if self._moves[node] or node == self._end)

    # The net.

    def _node(self) -> int:
        self._moves.append({})
        self._free.append([])
        return len(self._moves) - 1

    def _net(self, shape: Shape) -> tuple[int, int]:
        start, end = self._node(), self._node()
        match shape:
            case Text(text):
                self._free[self._spelled(start, text)].append(end)
            case Row(parts):
                at = start
                for part in parts:
                    at = self._after(at, part)
                self._free[at].append(end)
            case Either(of):
                for one in of:
                    self._free[self._after(start, one)].append(end)
            case Again(part):
                once = self._after(start, part)
                self._free[once] += [start, end]
            case Sayings(of):
                self._phrases(start, end, sorted(of))
        return start, end

    def _after(self, at: int, shape: Shape) -> int:
        start, end = self._net(shape)
        self._free[at].append(start)
        return end

    def _spelled(self, at: int, text: str) -> int:
        for letter in text:
            to = self._node()
            self._moves[at].setdefault(SPACE if letter == " " else letter, []).append(to)
            at = to
        return at

    def _phrases(self, start: int, end: int, listed: list[tuple[str, ...]]) -> None:
        """Add phrases to the net, sharing their common beginnings."""
        known: dict[tuple[str, ...], int] = {(): start}
        for phrase in listed:
            for length in range(1, len(phrase) + 1):
                head = phrase[:length]
                if head not in known:
                    at = known[head[:-1]]
                    if length > 1:
                        at = self._after(at, _JOINED)
                    known[head] = self._after(at, word_of(head[-1]))
            self._free[known[phrase]].append(end)


class Automata:
    """A cache of automata by grammar; the last used stay."""

    def __init__(self, branches: Branch, most: int = MOST_GRAMMARS) -> None:
        self._branches = branches
        self._most = most
        self._kept: OrderedDict[Shape, Automaton] = OrderedDict()

    def of(self, shape: Shape) -> Automaton:
        """Return the automaton of a grammar."""
        found = self._kept.pop(shape, None) or Automaton(shape, self._branches)
        self._kept[shape] = found
        while len(self._kept) > self._most:
            self._kept.popitem(last=False)
        return found
