"""One gate for every act: told the facts, it names everything that stands in the way.

Page, verb, tablet, certificate and rehearsal ask these same functions. Each takes the facts of one act and the
roles document, and returns every reason at once, weighed by that document. Who may check:
nobody checks a fitting they are named on, answered a panel, piece or edge line of before cure on, or signed
as ready or laid.
"""

from shop.reasons import Reason
from shop.work.cases import (
    AnswerFacts,
    HandOverFacts,
    IssueFacts,
    PutRightFacts,
    ReleaseFacts,
    RolesDocument,
    SignFacts,
    Who,
)


def answer_reasons(facts: AnswerFacts, roles: RolesDocument) -> list[Reason]:
    """Why this answer cannot be taken now."""
    raise NotImplementedError


def sign_reasons(facts: SignFacts, roles: RolesDocument) -> list[Reason]:
    """Why this cannot be signed now; any reason that stops refuses the signing whole."""
    raise NotImplementedError


def release_reasons(facts: ReleaseFacts, roles: RolesDocument) -> list[Reason]:
    """Everything between the car and its release, whoever acts next."""
    raise NotImplementedError


def hand_over_reasons(facts: HandOverFacts, roles: RolesDocument) -> list[Reason]:
    raise NotImplementedError


def issue_reasons(facts: IssueFacts, roles: RolesDocument) -> list[Reason]:
    raise NotImplementedError


def put_right_reasons(facts: PutRightFacts, roles: RolesDocument) -> list[Reason]:
    raise NotImplementedError


def verb_reasons(verb: str, by: Who, roles: RolesDocument) -> list[Reason]:
    """`not_allowed` when none of the person's roles may do this verb."""
    raise NotImplementedError


def waive_reasons(code: str, by: Who, why: str, roles: RolesDocument) -> list[Reason]:
    """Why this person cannot waive this reason."""
    raise NotImplementedError


def weigh(reasons: list[Reason], roles: RolesDocument) -> list[Reason]:
    """The same reasons with the weights of the roles document; KeyError for a code it does not list."""
    raise NotImplementedError
