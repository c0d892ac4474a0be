"""One job: its facts and acts, its entries, and the fold that makes a job of them."""
