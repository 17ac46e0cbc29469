"""What changes people and rights."""

from __future__ import annotations

from datetime import date, datetime, timedelta

from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from evenground.web.accounts.models import DayLink, Invitation, Membership, PairingCode, Role, Share, User
from evenground.web.accounts.secrets import hash_of, new_code, new_secret
from evenground.web.trials.models import Farm, Trial

INVITATION_LIVES = timedelta(days=7)
CODE_LIVES = timedelta(minutes=10)


def make_farm(*, name: str, owner: User) -> Farm:
    """Make a farm and its owner's membership."""
    with transaction.atomic():
        farm = Farm.objects.create(name=name)
        Membership.objects.create(user=owner, farm=farm, role=Role.OWNER)
    return farm


def invite(
    *,
    label: str,
    role: Role | None,
    by: User | None,
    farm: Farm | None = None,
    trial: Trial | None = None,
    user: User | None = None,
) -> str:
    """Make an invitation and return the secret of its link; it is shown once and not kept.

    Owners and advisers are invited to a farm, helpers and viewers to a trial; with ``user`` the link lets a known
    person set a new password and changes no role.

    Raises
    ------
    ValueError
        If neither farm, trial nor user is given.
    """
    if farm is None and trial is None and user is None:
        raise ValueError("an invitation leads to a farm, a trial or a person.")
    secret = new_secret()
    Invitation.objects.create(
        secret_hash=hash_of(secret),
        label=label,
        role=role or "",
        farm=farm,
        trial=trial,
        user=user,
        made_by=by,
        expires_at=timezone.now() + INVITATION_LIVES,
    )
    return secret


def renew_password(*, user: User, by: User) -> str:
    """Make a link by which somebody sets a password anew, and return its secret; earlier ones of them end."""
    with transaction.atomic():
        Invitation.objects.filter(user=user, used_at=None).delete()
        return invite(label=user.username, role=None, by=by, user=user)


def open_invitation(secret: str) -> Invitation | None:
    """Return an invitation that can still be used, or None."""
    found = Invitation.objects.filter(secret_hash=hash_of(secret), used_at=None, expires_at__gt=timezone.now())
    return found.select_related("farm", "trial", "user").first()


def accept_invitation(*, invitation: Invitation, name: str, password: str, known: User | None = None) -> User:
    """Let the invited person in: a new account, or the known person's new password, or one more role.

    Parameters
    ----------
    invitation : Invitation
        An open one.
    name, password : str
        Chosen by the person.
    known : User or None
        The person, where already signed in; then only the role is added.

    Raises
    ------
    ValidationError
        If the name is taken or the password too weak; nothing is stored then.
    """
    with transaction.atomic():
        taken = Invitation.objects.select_for_update().get(pk=invitation.pk)
        if taken.used_at is not None:
            raise ValidationError(_("This link was used already."))
        person = known or _person_of(taken, name, password)
        if taken.role:
            give_role(user=person, role=Role(taken.role), farm=taken.farm, trial=taken.trial)
        taken.used_at = timezone.now()
        taken.save(update_fields=["used_at"])
    return person


def _person_of(invitation: Invitation, name: str, password: str) -> User:
    person = invitation.user
    if person is None:
        name = name.strip()
        if not name or len(name) > 150:
            raise ValidationError({"name": _("Give a name of up to 150 signs.")})
        if User.objects.filter(username__iexact=name).exists():
            raise ValidationError({"name": _("This name is taken; choose another.")})
        person = User(username=name)
    try:
        validate_password(password, person)
    except ValidationError as error:
        raise ValidationError({"password": error.messages}) from error
    person.set_password(password)
    person.save()
    return person


def give_role(*, user: User, role: Role, farm: Farm | None = None, trial: Trial | None = None) -> None:
    """Set somebody's role on a farm or in a trial."""
    if farm is not None:
        Membership.objects.update_or_create(user=user, farm=farm, defaults={"role": role})
    if trial is not None:
        Share.objects.update_or_create(user=user, trial=trial, defaults={"role": role})


def take_role(*, user: User, farm: Farm | None = None, trial: Trial | None = None) -> None:
    """Take somebody's role away; a farm keeps at least one owner.

    Raises
    ------
    ValidationError
        If the farm would be left without an owner.
    """
    with transaction.atomic():
        if farm is not None:
            Farm.objects.select_for_update().get(pk=farm.pk)
            Membership.objects.filter(user=user, farm=farm).delete()
            if not Membership.objects.filter(farm=farm, role=Role.OWNER).exists():
                raise ValidationError(_("A farm needs an owner; name another one first."))
        if trial is not None:
            Share.objects.filter(user=user, trial=trial).delete()


def make_day_link(*, trial: Trial, label: str, valid_on: date, by: User) -> str:
    """Make a link for one day and return its secret; it is shown once and not kept."""
    secret = new_secret()
    DayLink.objects.create(trial=trial, label=label, valid_on=valid_on, secret_hash=hash_of(secret), made_by=by)
    return secret


def withdraw_day_link(*, link: DayLink, at: datetime) -> None:
    """End a day link at once."""
    DayLink.objects.filter(pk=link.pk, withdrawn_at=None).update(withdrawn_at=at)


def make_pairing_code(*, user: User) -> str:
    """Make a code that signs one phone in as this person, for ten minutes; earlier unused codes end."""
    PairingCode.objects.filter(user=user, used_at=None).delete()
    code = new_code()
    PairingCode.objects.create(user=user, code_hash=hash_of(code), expires_at=timezone.now() + CODE_LIVES)
    return code


def use_pairing_code(code: str) -> User | None:
    """Return the person a code signs in, and spend the code; None if there is no such open code."""
    with transaction.atomic():
        found = (
            PairingCode.objects.select_for_update()
            .filter(code_hash=hash_of(code), used_at=None, expires_at__gt=timezone.now(), user__is_active=True)
            .first()
        )
        if found is None:
            return None
        found.used_at = timezone.now()
        found.save(update_fields=["used_at"])
        return found.user
