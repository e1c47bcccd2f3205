"""Photos that were announced: what they speak of, and those that never came."""


def test_a_photo_that_never_came_is_missed(said, paired):
    result = paired([said("6.0", "mm", 10, side="left", axle="front", face="outer")], photo_cues=(73.0,))
    assert result.notices == (
        "A photo was announced at 1:13 in note.flac, after the left front outer brake pad, but none was taken"
        " within 60 s: take it, or check the clocks.",
    )


def test_a_photo_in_time_answers_the_announcement(said, shown, paired):
    for at in (0, 15, 60, 74):
        result = paired([said("6.0", "mm", 10)], [shown("6.0", "mm", at)], photo_cues=(14.5,))
        assert result.notices == (), at


def test_a_photo_too_late_does_not(said, shown, paired):
    result = paired([said("6.0", "mm", 10)], [shown("6.0", "mm", 76)], photo_cues=(14.5,))
    assert ["announced" in n for n in result.notices] == [True]


def test_one_photo_answers_one_announcement(said, shown, paired):
    result = paired([said("6.0", "mm", 10)], [shown("6.0", "mm", 20)], photo_cues=(14.0, 50.0))
    assert [n[:34] for n in result.notices] == ["A photo was announced at 0:50 in n"]


def test_a_photo_without_a_reading_answers_too(said, shown, paired):
    blank = shown(None, None, 20, reason="nothing is lit")
    assert paired([said("6.0", "mm", 10)], [blank], photo_cues=(14.0,)).notices == ()


def test_without_any_finding_the_sentence_says_only_when(paired):
    (notice,) = paired([], photo_cues=(5.0,)).notices
    assert notice.startswith("A photo was announced at 0:05 in note.flac, but none")


def test_the_word_holds_the_reading_until_the_photo(said, shown, paired):
    # Photo 9 s after the words, too far to hold another value against them, but right after "photo".
    spoken, photo = [said("6.0", "mm", 10)], [shown("25.4", "mm", 21)]
    without = paired(spoken, photo)
    with_cue = paired(spoken, photo, photo_cues=(20.0,))
    assert not without.findings[0].attention
    assert "shows 25.4 mm" in with_cue.findings[0].attention[0]


def test_the_word_speaks_of_the_last_reading_before_it(said, shown, paired):
    spoken = [said("6.0", "mm", 10, face="outer"), said("5.0", "mm", 15, face="inner")]
    result = paired(spoken, [shown("25.4", "mm", 28)], photo_cues=(25.0,))
    assert [bool(f.attention) for f in result.findings if f.component] == [False, True]


def test_a_word_long_after_speaks_of_nothing(said, shown, paired):
    result = paired([said("6.0", "mm", 10)], [shown("25.4", "mm", 26)], photo_cues=(25.0,))
    assert not result.findings[0].attention
