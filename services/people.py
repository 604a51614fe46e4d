"""Who signs in and as what: adds people, changes their role, and keeps one owner at least."""

import logging

from django.contrib.auth import get_user_model
from django.contrib.auth.models import Group, User
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from clients.access import Role
from clients.sessions import end_sessions
from services.devices import revoke_all_of
from services.journaling import journal_role
from services.models import Crew, Technician
from treatments.naming import take_in_known_names

logger = logging.getLogger(__name__)


@transaction.atomic
def first_owner(
    *, username: str, password: str, first_name: str = "", last_name: str = "", email: str = ""
) -> User:
    """Sign up the owner of a new book, which then knows the names of the cited tables.

    Refused as soon as there is anybody.
    """
    _one_at_a_time()
    if get_user_model().objects.exists():
        raise ValidationError(
            _("This book has an owner already. Ask the owner to add you."), code="not_new"
        )
    owner = _written(
        username=username,
        password=password,
        first_name=first_name,
        last_name=last_name,
        email=email,
        role=Role.OWNER,
    )
    journal_role(owner, str(Role.OWNER), by=owner, at=timezone.now())
    take_in_known_names()
    return owner


@transaction.atomic
def add_person(
    *,
    username: str,
    role: Role,
    by: User | None,
    password: str | None = None,
    first_name: str = "",
    last_name: str = "",
    email: str = "",
    crew: Crew | None = None,
    language: str = "en",
) -> User:
    """Add a person who may sign in; without a password only once one is set."""
    user = _written(
        username=username,
        password=password,
        first_name=first_name,
        last_name=last_name,
        email=email,
        role=role,
        crew=crew,
        language=language,
    )
    journal_role(user, str(role), by=by, at=timezone.now())
    logger.info("person added", extra=_who(user, by) | {"role": str(role)})
    return user


@transaction.atomic
def set_role(user: User, role: Role, *, by: User | None) -> bool:
    """Give a person a role in place of the former; say whether that changed anything.

    The person's sessions end, so the new role holds from the next page on.
    """
    _one_at_a_time()
    if set(user.groups.values_list("name", flat=True)) == {str(role)}:
        return False
    if role is not Role.OWNER:
        _keep_an_owner_beside(user)
    _put_in_group(user, role)
    end_sessions(user)
    journal_role(user, str(role), by=by, at=timezone.now())
    logger.info("role changed", extra=_who(user, by) | {"role": str(role)})
    return True


@transaction.atomic
def set_password(user: User, password: str, *, by: User | None) -> User:
    """Give a person another password; whoever is signed in as that person is signed out."""
    validate_password(password, user)
    user.set_password(password)
    user.save(update_fields=["password"])
    end_sessions(user)
    logger.info("password set", extra=_who(user, by))
    return user


@transaction.atomic
def let_go(user: User, *, by: User | None) -> bool:
    """Close a person's sign-in and phones, and take them off their crew.

    What they wrote stays theirs.
    """
    _one_at_a_time()
    _keep_an_owner_beside(user)
    if not type(user).objects.filter(pk=user.pk, is_active=True).update(is_active=False):
        return False
    Technician.objects.filter(user=user).update(crew=None)
    end_sessions(user)
    revoke_all_of(user, by=by, at=timezone.now())
    journal_role(user, "", by=by, at=timezone.now())
    logger.info("person let go", extra=_who(user, by))
    return True


def _one_at_a_time() -> None:
    """Let one person at a time change who is an owner; SQLite locks by its transaction alone."""
    Group.objects.select_for_update().get_or_create(name=Role.OWNER)


def _written(
    *,
    username: str,
    password: str | None,
    first_name: str,
    last_name: str,
    email: str,
    role: Role,
    crew: Crew | None = None,
    language: str = "en",
) -> User:
    user = get_user_model()(
        username=username, first_name=first_name, last_name=last_name, email=email
    )
    if password is not None:
        validate_password(password, user)
    user.set_password(password)
    user.full_clean()
    user.save()
    _put_in_group(user, role)
    technician = Technician(user=user, crew=crew, language=language)
    technician.full_clean()
    technician.save()
    return user


def _put_in_group(user: User, role: Role) -> None:
    group, _is_new = Group.objects.get_or_create(name=role)
    user.groups.set([group])
    vars(user).pop("_duskbook_role", None)


def _keep_an_owner_beside(user: User) -> None:
    owners = type(user).objects.filter(groups__name=Role.OWNER, is_active=True)
    if owners.filter(pk=user.pk).exists() and not owners.exclude(pk=user.pk).exists():
        raise ValidationError(
            _("%(name)s is the only owner. Make somebody else an owner first."),
            params={"name": user.get_full_name() or user.get_username()},
            code="last_owner",
        )


def _who(user: User, by: User | None) -> dict:
    return {"person": user.pk, "by": by.pk if by else None}
