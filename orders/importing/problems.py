"""Why a file, or a row of it, can't be taken in: where it stands, what stands there, and what to do."""

from dataclasses import dataclass

from orders.importing.columns import Column
from orders.importing.heads import TITLES


def shortened(text, most=60):
    flat = " ".join(text.split())
    return flat if len(flat) <= most else f"{flat[:most]}…"


@dataclass(frozen=True, kw_only=True)
class Problem:
    """`row`: from 1, as the file's own program counts; 0: the whole file. `name`: the field, where no column has it."""

    message: str
    row: int = 0
    column: Column | None = None
    name: str = ""
    value: str = ""

    @classmethod
    def of_file(cls, message):
        return cls(message=message)

    @property
    def title(self):
        return TITLES.get(self.column.field if self.column else self.name, "")

    @property
    def place(self):
        """Where it stands, for somebody with the file open."""
        where = [
            f"row {self.row}" if self.row else "",
            f"column {self.column.letter}" if self.column else "",
            self.title,
        ]
        said = ", ".join(filter(None, where))
        return said[:1].upper() + said[1:]

    def __str__(self):
        value = f" “{shortened(self.value)}”" if self.value else ""
        return f"{self.place}{value}: {self.message}" if self.place else self.message
