"""Keeping what a module is taught from: each version a file with its digest, none replaced."""

import hashlib

from django.core.files.base import File
from django.db import transaction
from django.utils.translation import gettext as _

from training.actions.log import write_log
from training.actions.permission import require_lead
from training.errors import Refused
from training.models import Material, Module, Person, Program
from training.queries.materials import LARGEST_BYTES, size_sentence


def add_material(
    *,
    actor: Person,
    program: Program,
    module: Module,
    title: str,
    upload: "File[bytes]",
    changed: str = "",
) -> Material:
    """Keep ``upload`` as the next version of the material ``title`` of ``module``; return it.

    The file is read in pieces, twice: for its digest and into the storage; it is never whole in
    memory. Raises PermissionDenied for anyone but a lead of the program's provider; Refused, with
    the field, for a module of another program, an empty file, one over ``LARGEST_BYTES``, the
    same bytes as the version before, or a further version without what changed.
    """
    require_lead(actor, program.provider)
    title, changed = " ".join(title.split()), " ".join(changed.split())
    if module.program_id != program.pk:
        raise Refused(_("Choose a module of this program."), field="module")
    if not title:
        raise Refused(_("Write the title of the material."), field="title")
    _check_size(upload.size)
    sha256, size = _digest(upload)
    _check_size(size)
    row = Material(
        program=program,
        module_key=module.key,
        title=title,
        name=_plain_name(upload.name),
        sha256=sha256,
        size=size,
        changed=changed,
        uploaded_by=actor,
    )
    return _keep(row, upload)


def _check_size(size: int) -> None:
    if size == 0:
        raise Refused(_("This file is empty: send the file with its content."), field="file")
    if size > LARGEST_BYTES:
        raise Refused(size_sentence(size), field="file")


def _digest(upload: "File[bytes]") -> tuple[str, int]:
    """Return the lower-case hex SHA-256 of a file and its size in bytes."""
    found, size = hashlib.sha256(), 0
    for piece in upload.chunks():
        found.update(piece)
        size += len(piece)
    return found.hexdigest(), size


def _plain_name(name: str | None) -> str:
    """Return the file's own name without folders, at most 200 characters, its ending kept."""
    plain = (name or "").replace("\\", "/").rsplit("/", 1)[-1]
    plain = "".join(sign for sign in plain if sign.isprintable()).strip() or "file"
    stem, dot, ending = plain.rpartition(".")
    if len(plain) <= 200 or not dot or len(ending) > 10:
        return plain[:200]
    return f"{stem[: 199 - len(ending)]}.{ending}"


def _keep(row: Material, upload: "File[bytes]") -> Material:
    """Number the version, and save row and file: both or neither."""
    try:
        with transaction.atomic():
            Program.objects.select_for_update(of=("self",)).get(pk=row.program_id)
            row.version = _next_version(row)
            # The digest is the name: what is stored cannot meet another file of the same name.
            row.file.save(row.sha256, upload, save=False)
            row.save(force_insert=True)
            write_log(
                actor=row.uploaded_by,
                verb="material.added",
                subject=row,
                data={
                    "program": str(row.program_id),
                    "module": row.module_key,
                    "title": row.title,
                    "version": row.version,
                    "sha256": row.sha256,
                    "size": row.size,
                },
            )
    except BaseException:
        if row.file and getattr(row.file, "_committed", False):
            row.file.delete(save=False)
        raise
    return row


def _next_version(row: Material) -> int:
    same = Material.objects.filter(
        program=row.program_id, module_key=row.module_key, title=row.title
    )
    last = same.order_by("-version").first()
    if last is None:
        return 1
    if last.sha256 == row.sha256:
        raise Refused(
            _(
                "This file is the same as version {version}, byte for byte. Send the new one."
            ).format(version=last.version),
            field="file",
        )
    if not row.changed:
        raise Refused(
            _("Version {version} of this material is kept: say what changed since.").format(
                version=last.version
            ),
            field="changed",
        )
    return last.version + 1
