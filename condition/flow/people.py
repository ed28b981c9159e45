"""The people of the shop's papers: clients, specialists, carriers, its own."""

from __future__ import annotations

from condition.errors import Refused
from condition.flow.desk import Desk, new_id
from condition.records.person import Person, Role


def people(desk: Desk, *roles: Role) -> tuple[Person, ...]:
    """Return everybody, or those of the given roles, by name."""
    return desk.store.find(Person, **({"role": roles} if roles else {}))


def person_named(desk: Desk, name: str, role: Role, address: str = "", contact: str = "") -> Person:
    """Return the person of that name and role, written down now if there is none.

    Raises
    ------
    Refused
        ``people.no_name``
    """
    name = " ".join(name.split())
    if not name:
        raise Refused("people.no_name")
    known = desk.store.find(Person, name=name, role=role)
    if known:
        return known[0]
    with desk.store.write(new_id(), desk.person) as work:
        return work.put(Person(new_id(), name, role, address.strip(), contact.strip()))


def keep_person(desk: Desk, person: Person) -> Person:
    if not person.name.strip():
        raise Refused("people.no_name")
    with desk.store.write(new_id(), desk.person) as work:
        return person if work.get(Person, person.id) == person else work.put(person)
