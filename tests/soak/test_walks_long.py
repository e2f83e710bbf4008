"""Many courses of a day by any hands; a few with BAYPROOF_SOAK=short. The property stands beside its short form."""

import os

import pytest

from tests.kept import kept
from tests.work.test_honest_paper import answered, the_property

pytestmark = [pytest.mark.soak, pytest.mark.django_db]
COURSES = 8 if os.environ.get("BAYPROOF_SOAK") == "short" else 150


@pytest.fixture
def world():
    return kept(answered)


test_many_courses_of_a_day_reach_no_paper_they_should_not = the_property(COURSES)
