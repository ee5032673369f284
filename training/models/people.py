"""Organisations, people, the roles they hold and who employs whom."""

from typing import ClassVar

from django.contrib.auth.models import AbstractBaseUser, BaseUserManager
from django.db import models
from django.db.models import F, Q
from django.db.models.functions import Lower
from django.utils import timezone
from django.utils.translation import gettext_lazy as _l


class Organisation(models.Model):
    """A training provider (who issues), a contractor (who employs) or a building's owner."""

    class Kind(models.TextChoices):
        PROVIDER = "provider", _l("Training provider")
        CONTRACTOR = "contractor", _l("Contractor")
        OWNER = "owner", _l("Owner")

    kind = models.CharField(max_length=20, choices=Kind.choices)
    name = models.CharField(max_length=200)
    address = models.CharField(max_length=300, blank=True)
    # Somebody outside who hears complaints about conduct when every lead is concerned.
    outside_contact = models.CharField(max_length=300, blank=True, default="")

    class Meta:
        ordering: ClassVar = ["name"]
        constraints: ClassVar = [
            models.CheckConstraint(
                name="organisation_kind_known",
                condition=Q(kind__in=["provider", "contractor", "owner"]),
            ),
            models.CheckConstraint(name="organisation_name_given", condition=~Q(name="")),
            models.UniqueConstraint(Lower("name"), "kind", name="organisation_name_once_a_kind"),
        ]

    def __str__(self) -> str:
        return self.name


class PersonManager(BaseUserManager["Person"]):
    """Makes people; an e-mail address is held in lower case, so that it is one's own once."""

    def create_user(self, email: str, full_name: str, password: str | None = None) -> "Person":
        """Save and return a person; without a password, signing in by password is off."""
        person = self.model(email=email.strip().lower(), full_name=" ".join(full_name.split()))
        person.set_password(password)
        person.save(using=self._db)
        return person

    def get_by_natural_key(self, username: str | None) -> "Person":
        """Return the person who signs in with this address, in whatever case it was typed."""
        return self.get(email=(username or "").strip().lower())


class Person(AbstractBaseUser):
    """Anyone who signs in: lead, instructor, trainee or a contractor's manager."""

    class Language(models.TextChoices):
        ENGLISH = "en", "English"
        SPANISH = "es", "Español"
        SPANISH_OF_MEXICO = "es-mx", "Español (México)"

    class Lengths(models.TextChoices):
        INCH = "in", _l("inches")
        MILLIMETRE = "mm", _l("millimetres")

    email = models.EmailField(unique=True)
    full_name = models.CharField(max_length=200)
    is_active = models.BooleanField(default=True)
    joined_at = models.DateTimeField(default=timezone.now)
    # How the person reads: empty is what the browser asks for, and lengths as they were taken.
    language = models.CharField(max_length=10, choices=Language.choices, blank=True, default="")
    lengths = models.CharField(max_length=2, choices=Lengths.choices, blank=True, default="")

    objects: ClassVar[PersonManager] = PersonManager()

    USERNAME_FIELD = "email"
    EMAIL_FIELD = "email"
    REQUIRED_FIELDS: ClassVar[list[str]] = ["full_name"]

    class Meta:
        ordering: ClassVar = ["full_name", "id"]
        constraints: ClassVar = [
            models.CheckConstraint(name="person_email_lower", condition=Q(email=Lower("email"))),
            models.CheckConstraint(name="person_name_given", condition=~Q(full_name="")),
            models.CheckConstraint(
                name="person_language_known",
                condition=Q(language__in=["", "en", "es", "es-mx"]),
            ),
            models.CheckConstraint(
                name="person_lengths_known", condition=Q(lengths__in=["", "in", "mm"])
            ),
        ]

    def __str__(self) -> str:
        return self.full_name

    def get_full_name(self) -> str:
        """Return the name as it stands on records."""
        return self.full_name


class Role(models.Model):
    """What a person may do for an organisation; a trainee needs none, an enrolment says it."""

    class Kind(models.TextChoices):
        LEAD = "lead", _l("Training lead")
        INSTRUCTOR = "instructor", _l("Instructor")
        CONTRACTOR = "contractor", _l("Contractor's manager")
        OWNER = "owner", _l("Owner's representative")

    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="roles")
    organisation = models.ForeignKey(Organisation, on_delete=models.PROTECT, related_name="roles")
    kind = models.CharField(max_length=20, choices=Kind.choices)

    class Meta:
        constraints: ClassVar = [
            models.CheckConstraint(
                name="role_kind_known",
                condition=Q(kind__in=["lead", "instructor", "contractor", "owner"]),
            ),
            models.UniqueConstraint(
                fields=["person", "organisation", "kind"], name="role_held_once"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.person}: {self.get_kind_display()} at {self.organisation}"


class Employment(models.Model):
    """From when to when a contractor employs a person; one current employer at most."""

    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="employments")
    organisation = models.ForeignKey(
        Organisation, on_delete=models.PROTECT, related_name="employments"
    )
    since = models.DateField()
    until = models.DateField(null=True, blank=True)

    class Meta:
        ordering: ClassVar = ["-since"]
        constraints: ClassVar = [
            models.CheckConstraint(
                name="employment_ends_after_start",
                condition=Q(until__isnull=True) | Q(until__gte=F("since")),
            ),
            models.UniqueConstraint(
                fields=["person"], condition=Q(until__isnull=True), name="employment_current_once"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.person} at {self.organisation} since {self.since}"
