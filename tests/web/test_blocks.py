"""Text of pages: figures are marked by what they rest on, and nothing that came from a file becomes a tag."""

from sagger.views.standing import Rest
from sagger.web import blocks

WEAK = Rest(memory=1, assumed=0)


def marked(line, rests=WEAK):
    return [each.partition("<")[0] for each in str(blocks.figures(line, rests)).split('weak">')[1:]]


def test_figures_of_a_line_are_marked_and_its_words_are_not():
    assert marked("packing 58.3 ± 2.4 %, from lot L-0417") == ["58.3 ± 2.4 %"]
    assert marked("586 018 972 drops of 110 pL") == ["586 018 972", "110 pL"]
    assert marked("order 802.63 EUR, ready 2027-03-04 08:09") == ["802.63 EUR", "2027-03-04 08:09"]


def test_a_line_that_rests_on_nothing_weak_is_plain():
    assert str(blocks.figures("4.01 h", Rest(memory=0, assumed=0))) == "4.01 h"
    assert str(blocks.figures("from the powder card", WEAK)) == "from the powder card"


def test_nothing_from_a_file_becomes_a_tag():
    evil = "<img src=x onerror=alert(1)> 5 mm"
    for made in (blocks.figures(evil, WEAK), blocks.coded(f"`{evil}`"), blocks.figure(evil, "memory")):
        assert "<img" not in str(made)
    assert "<img" not in str(blocks.table((evil,), [(evil,)], evil))
