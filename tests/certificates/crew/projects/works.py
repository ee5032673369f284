"""A contractor, an owner and a program with rules, for the tests of projects; all invented."""

from dataclasses import dataclass
from datetime import date
from typing import Any

from certificates.actions.projects import PostValues
from certificates.models import Post, Project
from tests.assessments.builders import make_standard
from tests.factories import make_organisation, make_program, make_role
from training.models import Organisation, Person, Program, Role

RULES: dict[str, Any] = {
    "basis": "Set for the tests.",
    "variables": [
        {
            "key": "position",
            "title": "Position",
            "kind": "ordered",
            "values": ["sill", "vertical face", "soffit"],
            "assessed": "vertical face",
            "source": "Set for the tests",
        },
        {
            "key": "title",  # a column of the file is called so, too
            "title": "Stone",
            "kind": "as_assessed",
            "values": ["sandstone", "lime | stone"],
            "assessed": "sandstone",
            "source": "Set for the tests",
        },
        {
            "key": "depth",
            "title": "Depth of the piece",
            "kind": "window",
            "unit": "in",
            "assessed": "4",
            "from": "1/2",
            "to": "2",
            "source": "Set for the tests",
        },
    ],
}
START, END = date(2027, 3, 1), date(2027, 6, 30)


@dataclass(frozen=True)
class Works:
    """A contractor's project for an owner; ``program`` has rules, ``plain`` a standard without."""

    contractor: Organisation
    owner: Organisation
    manager: Person
    representative: Person
    program: Program
    plain: Program
    project: Project

    def values(self, **changes: Any) -> PostValues:
        """Return what a faultless post asks for, with ``changes``."""
        return PostValues(
            **{
                "code": "N-1",
                "title": "Dutchmen, north parapet",
                "work": "",
                "program": self.program,
                "conditions": {},
                "places": 3,
                "starts_on": START,
                "ends_on": date(2027, 4, 30),
                **changes,
            }
        )

    def post(self, **changes: Any) -> Post:
        """Return a saved post, without asking any guard."""
        post = Post(project=self.project, position=self.project.posts.count() + 1)
        self.values(**changes).write_to(post).save()
        return post


def make_works() -> Works:
    """Return a project with nobody's post on it, its firms and their people."""
    contractor, owner = make_organisation("contractor"), make_organisation("owner")
    manager = make_role(Role.Kind.CONTRACTOR, contractor)
    provider = make_organisation()
    program = make_program(provider, code="DUTCH", title="Dutchman repair")
    plain = make_program(provider, code="POINT", title="Repointing")
    make_standard(program, about={"qualification": RULES})
    make_standard(plain)
    project = Project.objects.create(
        contractor=contractor,
        owner=owner,
        name="Chapel of the mill",
        place="Mill Lane",
        time_zone="America/New_York",
        starts_on=START,
        ends_on=END,
        created_by=manager,
    )
    representative = make_role(Role.Kind.OWNER, owner)
    return Works(contractor, owner, manager, representative, program, plain, project)
