import pytest

from tests.addresses import one_of_everything


@pytest.fixture
def site(cast, make_clip):
    return one_of_everything(cast, make_clip)
