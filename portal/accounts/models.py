"""The portal's own user: signs in with an e-mail address and holds roles as groups."""

from typing import Any, ClassVar

from django.contrib.auth.models import AbstractUser, UserManager
from django.db import models


class Role(models.TextChoices):
    """The three people who use the portal; the value is the name of the role's group."""

    OFFICE_ADMIN = "office_admin", "Office admin"
    TECHNICIAN = "technician", "Technician"
    COMPLIANCE_OFFICER = "compliance_officer", "Compliance officer"


class PortalUserManager(UserManager["User"]):
    """Makes users by e-mail address instead of user name."""

    def create_user(  # type: ignore[override]
        self, email: str, password: str | None = None, **fields: Any
    ) -> "User":
        """Make a user who signs in with ``email``, compared without regard to case."""
        user = self.model(email=self.normalize_email(email).lower(), **fields)
        user.set_password(password)
        user.save(using=self._db)
        return user

    def create_superuser(  # type: ignore[override]
        self, email: str, password: str | None = None, **fields: Any
    ) -> "User":
        """Make a user whom no permission check stops."""
        return self.create_user(email, password, is_staff=True, is_superuser=True, **fields)

    def get_by_natural_key(self, username: str | None) -> "User":
        """Find the user who signs in as ``username``, an e-mail address in any case."""
        return self.get(email=(username or "").strip().lower())


class User(AbstractUser):
    """A person who signs in."""

    username = None  # type: ignore[assignment]
    first_name = None  # type: ignore[assignment]
    last_name = None  # type: ignore[assignment]
    email = models.EmailField("e-mail address", unique=True)
    full_name = models.CharField(max_length=120)
    has_one_time_password = models.BooleanField(
        "must choose a password", default=False, help_text="No page opens before the person has chosen one."
    )

    objects: ClassVar[PortalUserManager] = PortalUserManager()

    USERNAME_FIELD = "email"
    REQUIRED_FIELDS: ClassVar[list[str]] = ["full_name"]

    class Meta:
        ordering = ("full_name",)
        permissions = (("view_mailbox", "Can read the mailbox folder"),)

    def __str__(self) -> str:
        return self.full_name or self.email

    def clean(self) -> None:
        """Write the e-mail address in small letters, as signing in looks for it."""
        super().clean()
        self.email = self.email.lower()

    def get_full_name(self) -> str:
        return self.full_name

    def get_short_name(self) -> str:
        return self.full_name.split(" ")[0]

    def has_role(self, role: Role) -> bool:
        """Say whether the user holds ``role``; runs one query a request."""
        return role.value in self.role_names

    @property
    def role_names(self) -> set[str]:
        """The names of the user's roles, fetched once for each user object."""
        if not hasattr(self, "_role_names"):
            self._role_names = set(self.groups.values_list("name", flat=True))
        return self._role_names
