"""What a file's words for fabrics and systems are looked up in, read once for the whole file."""

from difflib import get_close_matches

from orders.importing.columns import plain
from orders.lines import constants_in_force
from orders.models import Fabric, HardwareSystem


class NotFound(ValueError):
    """A fabric or a system that a file names and that can't be told; the message says what to write instead."""


def as_it_is():
    """All that a row is judged by, to be held against the same of another moment."""
    fabrics, systems = Fabric.objects.order_by("pk").values(), HardwareSystem.objects.order_by("pk").values()
    return list(fabrics), list(systems), constants_in_force()


class Catalogue:
    def __init__(self):
        self.systems = list(HardwareSystem.objects.by_name())
        self.fabrics = list(Fabric.objects.offered_first())
        self.constants = constants_in_force()
        self._systems = {plain(word): system for system in self.systems for word in (system.name, system.code)}
        self._fabrics = {}
        for fabric in self.fabrics:
            for word in _names(fabric):
                self._fabrics.setdefault(plain(word), []).append(fabric)

    @property
    def usual_system(self):
        """The system of a row that names none: the first that a blind can be computed with, or None."""
        return next((system for system in self.systems if system.pk in self.constants), None)

    @property
    def offered(self):
        return [fabric for fabric in self.fabrics if fabric.offered]

    def system(self, text):
        if found := self._systems.get(plain(text)):
            return found
        raise NotFound(f"No system is called so. Write one of: {_listed(each.name for each in self.systems)}.")

    def fabric(self, text, *, colour="", vane_width_mm=None):
        """The offered fabric called `text`, by code or by name and colour; its vane width tells two alike apart."""
        found = self._fabrics.get(plain(f"{text} {colour}")) or self._fabrics.get(plain(text), [])
        if colour:
            found = [fabric for fabric in found if plain(fabric.colour) == plain(colour)]
        offered = [fabric for fabric in found if fabric.offered]
        if found and not offered:
            raise NotFound(f"{found[0]} is not offered any more. Ask the customer for another fabric.")
        if not offered:
            raise NotFound(f"No fabric is called so. {self._near(f'{text} {colour}')}")
        fitting = [fabric for fabric in offered if fabric.vane_width_mm == vane_width_mm] or offered
        if len(fitting) > 1:
            raise NotFound(f"That could be {_listed(fitting, ' or ')}. Give the vane width, or the fabric's code.")
        return fitting[0]

    def _near(self, text):
        words = {f"{fabric.name} {fabric.colour}".casefold(): fabric for fabric in self.offered}
        words |= {fabric.code: fabric for fabric in self.offered}
        near = get_close_matches(text.casefold().strip(), words, n=3, cutoff=0.5)
        shown = dict.fromkeys(f"{words[word].name} {words[word].colour}" for word in near)
        if shown:
            return f"Is it {_listed(shown, ' or ')}? Write name and colour, or the code."
        return "Write name and colour, or the code, as the catalogue gives them."


def _names(fabric):
    whole = f"{fabric.name} {fabric.colour}"
    return {plain(word): word for word in (fabric.code, whole, f"{whole} {fabric.vane_width_mm}", str(fabric))}.values()


def _listed(things, last=", "):
    return last.join(map(str, things))
