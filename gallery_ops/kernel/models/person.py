"""People: the user model, where they work, what they may and what they can."""

from __future__ import annotations

from typing import Any, ClassVar

from django.contrib.auth.base_user import AbstractBaseUser, BaseUserManager
from django.contrib.auth.models import PermissionsMixin
from django.core.validators import RegexValidator
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from gallery_ops.kernel.models.base import Named, Period, ShowroomRow


class PersonManager(BaseUserManager["Person"]):
    """Makes people. Services are the usual way; this one serves Django's own tools."""

    def create_user(
        self, login: str, name: str, password: str | None = None, **more: Any
    ) -> Person:
        """A person who may sign in; without a password only by PIN on an enrolled tablet."""
        person = self.model(login=login.strip().lower(), name=name.strip(), **more)
        person.set_password(password)
        person.full_clean(exclude=["password"])
        person.save(using=self._db)
        return person

    def create_superuser(self, login: str, name: str, password: str | None = None) -> Person:
        """Somebody who may read everything in the read-only admin."""
        return self.create_user(login, name, password, is_staff=True, is_superuser=True)


class Person(Named, AbstractBaseUser, PermissionsMixin):
    """Somebody who works here, or did: records stay under their name."""

    login = models.CharField(
        max_length=60,
        unique=True,
        validators=[
            RegexValidator(
                r"^[a-z0-9](?:[a-z0-9.\-]*[a-z0-9])?$",
                _("A sign-in name has small letters, digits, points and hyphens: iskra.vann."),
            )
        ],
    )
    name = models.CharField(max_length=120)
    email = models.EmailField(null=True, blank=True, unique=True)
    language = models.CharField(max_length=16, blank=True)
    is_active = models.BooleanField(default=True)
    is_staff = models.BooleanField(default=False)

    objects: ClassVar[PersonManager] = PersonManager()

    USERNAME_FIELD = "login"
    REQUIRED_FIELDS: ClassVar[list[str]] = ["name"]

    class Meta:
        verbose_name_plural = "people"

    def __str__(self) -> str:
        return self.name

    @property
    def given_name(self) -> str:
        """The first word of the name, as it is called across the room."""
        return self.name.split()[0] if self.name else self.login


class Role(models.TextChoices):
    """What somebody is in a showroom; the matrix in ``kernel.rights`` says what that allows."""

    CARER = "carer", _("carer")
    SENIOR_CARER = "senior_carer", _("senior carer")
    MANAGER = "manager", _("manager")
    OWNER = "owner", _("owner")
    GUEST_DESIGNER = "guest_designer", _("guest designer")


class Membership(Period):
    """A person in a showroom with a role; the acting party of every service."""

    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="memberships")
    role = models.CharField(max_length=20, choices=Role.choices)
    pin_salt = models.BinaryField(max_length=16, null=True, blank=True)
    pin_base = models.BinaryField(max_length=32, null=True, blank=True)

    class Meta(Period.Meta):
        constraints: ClassVar[list[Any]] = [
            *Period.Meta.constraints,
            models.UniqueConstraint(
                fields=["showroom", "person"],
                condition=Q(to_at__isnull=True),
                name="one_open_membership_per_person",
                violation_error_message=_("This person already works here."),
            ),
            models.CheckConstraint(
                condition=Q(role__in=Role.values),
                name="membership_role_is_known",
                violation_error_message=_("Choose one of the five roles."),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.person}, {self.get_role_display()}"


class Skill(models.TextChoices):
    """What a task may ask for; C1 to C3 include one another, D and T stand alone."""

    C1 = "C1", _("C1, daily care")
    C2 = "C2", _("C2, tests, trims and filters")
    C3 = "C3", _("C3, gas, livestock and first response")
    D = "D", _("D, design")
    T = "T", _("T, licensed trade")


class SkillGrant(ShowroomRow):
    """Signed off: this person can do work of this skill until it expires."""

    is_fact: ClassVar[bool] = True

    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="skill_grants")
    skill = models.CharField(max_length=2, choices=Skill.choices)
    signed_off_by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    signed_off_on = models.DateField()
    expires_on = models.DateField(null=True, blank=True)

    def __str__(self) -> str:
        return f"{self.person}: {self.skill}"


class SkillRevocation(ShowroomRow):
    """A grant that no longer holds, and since when."""

    is_fact: ClassVar[bool] = True

    grant = models.OneToOneField(SkillGrant, on_delete=models.PROTECT, related_name="revocation")
    revoked_by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    revoked_on = models.DateField()

    def __str__(self) -> str:
        return f"{self.grant}, no longer"
