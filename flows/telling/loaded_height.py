"""How high a loaded truck stands by the cards: the vehicle on its deck, or the truck itself."""

from flows.job.state import Job
from flows.measures.say import say_ft_in
from flows.texts import word


def loaded_height_in(job: Job) -> int | None:
    """Return how high the vehicle stands on the deck [in], or the truck where that is higher.

    None where card and truck do not both give their part.
    """
    library = job.book.library
    card = library.vehicles.get(job.value("card") or "")
    truck = library.trucks.get(job.value("truck") or "")
    if card is None or truck is None or truck.deck is None:
        return None
    return max(truck.deck.height_in + card.height_in, truck.height_in)


def height_shown(job: Job) -> str:
    """Return the loaded height in feet and inches, as it is shown."""
    height = loaded_height_in(job)
    if height is None:
        return word("not_known")
    feet, inches = divmod(height, 12)
    return word("height_shown").format(feet=feet, inches=inches)


def height_spoken(job: Job) -> str:
    """Return the loaded height as it is said."""
    height = loaded_height_in(job)
    return word("not_known") if height is None else say_ft_in(height * 64)
