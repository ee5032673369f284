"""Which lead, provider and program a command means, when not everything is said."""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db.models import QuerySet

from training.models import Organisation, Person, Program, Role


def add_lead_arguments(parser: ArgumentParser) -> None:
    """Add --lead and --provider, both needed only where there are several."""
    parser.add_argument("--lead", metavar="EMAIL", help="the training lead who does this")
    add_provider_argument(parser)


def add_provider_argument(parser: ArgumentParser) -> None:
    """Add --provider."""
    parser.add_argument("--provider", metavar="NAME", help="the training provider's name")


class ProgramCommand(BaseCommand):
    """A command about one program version; its --version takes the place of Django's own."""

    def create_parser(self, prog_name: str, subcommand: str, **kwargs: Any) -> CommandParser:
        """Let an option of ours replace one that every command has."""
        kwargs["conflict_handler"] = "resolve"
        return super().create_parser(prog_name, subcommand, **kwargs)

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Take the program's code and version."""
        parser.add_argument("code", help="the program's code, such as DUTCHMAN")
        parser.add_argument(
            "--version", type=int, metavar="N", help="the program's version (default: the latest)"
        )


def chosen_lead(email: str | None, provider: str | None) -> tuple[Person, Organisation]:
    """Return who acts and for which provider; raise CommandError unless there is exactly one."""
    roles = Role.objects.filter(
        kind=Role.Kind.LEAD, organisation__kind=Organisation.Kind.PROVIDER
    ).select_related("person", "organisation")
    if email is not None:
        roles = roles.filter(person__email=email.strip().lower())
    if provider is not None:
        roles = roles.filter(organisation__name__iexact=provider.strip())
    found = list(roles.order_by("organisation__name", "person__email"))
    if len(found) == 1:
        return found[0].person, found[0].organisation
    if not found:
        raise CommandError(
            "No training lead fits. Make one known first: manage.py add_person EMAIL NAME "
            "--role lead --organisation PROVIDER."
        )
    choices = "; ".join(f"{role.person.email} at {role.organisation}" for role in found)
    raise CommandError(f"Say which lead with --lead and --provider: {choices}.")


def chosen_program(code: str, version: int | None, provider: str | None) -> Program:
    """Return the program version meant; raise CommandError unless there is exactly one."""
    programs = Program.objects.filter(code=code).select_related("provider")
    if provider is not None:
        programs = programs.filter(provider__name__iexact=provider.strip())
    found = list(programs if version is None else programs.filter(version=version))
    if not found:
        raise CommandError(f"There is no such program. {_known(programs)}")
    if len({program.provider_id for program in found}) > 1:
        names = ", ".join(sorted({str(program.provider) for program in found}))
        raise CommandError(f"Several providers have a {code}; say which with --provider: {names}.")
    return max(found, key=lambda program: program.version)


def _known(programs: QuerySet[Program]) -> str:
    rows = list(programs) or list(Program.objects.order_by("code", "version"))
    names = ", ".join(f"{row.code} version {row.version}" for row in rows)
    return f"There are: {names}." if names else "None is loaded yet: manage.py load_program FILE."
