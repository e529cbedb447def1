import uuid

from review import selecting
from review.selecting import Mark


def test_it_works(cast, a_clip):
    made = selecting.put(cast.logger, uuid.uuid4(), a_clip, Mark(5, 20, ("gull",), "it lands", 4), 0)
    assert (made.in_frame, made.out_frame, made.rating, made.version) == (5, 20, 4, 1)
    assert [tag.name for tag in made.tags.all()] == ["gull"]


def test_writing_it_twice_is_writing_it_once(cast, a_clip):
    mark, select_id = Mark(5, 20, ("gull",)), uuid.uuid4()
    first = selecting.put(cast.logger, select_id, a_clip, mark, 0)
    again = selecting.put(cast.logger, select_id, a_clip, mark, 0)
    assert again.version == first.version == 1
    assert a_clip.selects.count() == 1
