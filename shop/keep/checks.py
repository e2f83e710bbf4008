"""The shape of a proof: one check a subject, what it looked at, and each thing that is wrong by name."""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import asdict, dataclass, field
from typing import Any, TypeVar

T = TypeVar("T")
Tell = Callable[[str, int], None]
EVERY = 200


@dataclass(frozen=True)
class Wrong:
    """`what` is the kind of row, `id` its id here, `text` the sentence for whoever has to look."""

    what: str
    id: int | str
    text: str


@dataclass
class Check:
    """One subject. `wrong` is empty where all that was looked at is as it was entered; `said` is to be known."""

    name: str
    checked: int = 0
    wrong: list[Wrong] = field(default_factory=list)
    said: list[str] = field(default_factory=list)

    def add(self, what: str, pk: int | str, text: str) -> None:
        self.wrong.append(Wrong(what, pk, text))

    def told(self) -> dict[str, Any]:
        return asdict(self)

    def each(self, rows: Iterable[T], tell: Tell) -> Iterator[T]:
        """The rows one by one, counted, with a word about it now and then."""
        for row in rows:
            self.checked += 1
            if self.checked % EVERY == 0:
                tell(self.name, self.checked)
            yield row


def silent(name: str, checked: int) -> None:
    pass
