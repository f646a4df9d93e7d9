"""Names as a person types them on the command line, led to those that the tables use."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Mapping

#: So many names are listed where none is near.
_MOST_LISTED = 8


class UnknownNameError(Exception):
    """A name that the tables do not hold; the message says so and which is near."""


class Names:
    """Names of one kind, each with the one that is used for it."""

    def __init__(self, kind: str, leads_to: Mapping[str, str]) -> None:
        self._kind = kind
        self._leads_to = leads_to
        self._folded = {name.casefold(): used for name, used in leads_to.items()}

    def find(self, name: str) -> str | None:
        """Return the name that is used; None where there is none."""
        name = name.strip()
        return self._leads_to.get(name) or self._folded.get(name.casefold())

    def pick(self, name: str) -> str:
        """Return the name that is used, or raise UnknownNameError."""
        if (found := self.find(name)) is not None:
            return found
        near = difflib.get_close_matches(name.strip().casefold(), self._folded, n=1, cutoff=0.5)
        hint = f": is '{self._folded[near[0]]}' meant?" if near else self._list_all()
        raise UnknownNameError(f"there is no {self._kind} '{name.strip()}'{hint}")

    def _list_all(self) -> str:
        names = sorted(set(self._leads_to.values()))
        if not names:
            return f"; the tables name no {self._kind}"
        shown = ", ".join(names[:_MOST_LISTED])
        return f"; there are {shown}{', ...' if len(names) > _MOST_LISTED else ''}"


def name_each(kind: str, names: Iterable[str]) -> Names:
    """Return names that are used as they are."""
    return Names(kind, {name: name for name in names})
