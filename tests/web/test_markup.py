"""Text of pages: figures are marked by what they rest on, and nothing that came from a file becomes a tag."""

from sagger.views.words.standing import Rest
from sagger.web import markup

WEAK = Rest(memory=1, assumed=0)


def marked(line, rests=WEAK):
    return [each.partition("<")[0] for each in str(markup.figures(line, rests)).split('weak">')[1:]]


def test_figures_of_a_line_are_marked_and_its_words_are_not():
    assert marked("packing 58.3 ± 2.4 %, from lot L-0417") == ["58.3 ± 2.4 %"]
    assert marked("586 018 972 drops of 110 pL") == ["586 018 972", "110 pL"]
    assert marked("order 802.63 EUR, ready 2027-03-04 08:09") == ["802.63 EUR", "2027-03-04 08:09"]


def test_a_line_that_rests_on_nothing_weak_is_plain():
    assert str(markup.figures("4.01 h", Rest(memory=0, assumed=0))) == "4.01 h"
    assert str(markup.figures("from the powder card", WEAK)) == "from the powder card"


def test_nothing_from_a_file_becomes_a_tag():
    evil = "<img src=x onerror=alert(1)> 5 mm"
    for made in (markup.figures(evil, WEAK), markup.coded(f"`{evil}`"), markup.figure(evil, "memory")):
        assert "<img" not in str(made)
    assert "<img" not in str(markup.table((evil,), [(evil,)], evil))


def test_a_box_s_number_is_no_figure_and_a_time_is_one():
    assert marked("box 1: 62.9 of 65 mm high, ready 2027-03-04 08:09") == [
        "62.9",
        "65 mm",
        "2027-03-04 08:09",
    ]


def test_what_is_to_be_typed_keeps_its_units_and_the_rest_is_written_for_people():
    said = str(markup.coded("Up to 230 degC; say `oven = 230 degC`."))
    assert said == "Up to 230 °C; say <code>oven = 230 degC</code>."


def test_numbers_are_set_flush_right_in_the_columns_that_are_named():
    made = str(markup.table(("a", "b"), [("x", 1)], numbers=(1,)))
    assert made.count('class="right"') == 2
    assert '<th scope="col">a</th><th scope="col" class="right">b</th>' in made
    assert '<th scope="row">x</th><td class="right">1</td>' in made


def test_a_figure_tells_what_it_rests_on():
    assert 'aria-label="assumed">a</sup>' in str(markup.figure("5 mm", "assumed"))
    assert 'aria-label="from memory, not looked up">m</sup>' in str(markup.figure("5 mm", "memory"))
    assert "weak" not in str(markup.figure("5 mm", "measured"))
    assert str(markup.resting("5 mm", None)) == "5 mm"


def test_a_state_is_a_word_and_a_tone():
    assert str(markup.state("done")) == '<span class="state ready">ready</span>'
    assert str(markup.state("failed")) == '<span class="state stop">refused</span>'
    assert str(markup.state("cancelled")) == '<span class="state look">stopped by you</span>'
