"""What an order and the cards it names must agree on."""

import pytest

from sagger.cards.read import SHIPPED
from sagger.desk.planning import orders
from sagger.errors import OrderError

CUBE = """o cube
v 0 0 0
v 9 0 0
v 9 9 0
v 0 9 0
v 0 0 9
v 9 0 9
v 9 9 9
v 0 9 9
f 4 3 2 1
f 5 6 7 8
f 1 2 6 5
f 2 3 7 6
f 3 4 8 7
f 4 1 5 8
"""
ORDER = """[order]
name = "plain"
[cards]
powder = "{powder}"
[[part]]
file = "cube.obj"
unit = "mm"
quantity = 1
tolerance = "1 mm"
"""
SKIN = '\n[skin]\nvalue = "1 mm"\nsource = "assumed"\nwhere = "test"\nstanding = "assumed"\n'


@pytest.fixture
def read(tmp_path, monkeypatch):
    monkeypatch.setenv("SAGGER_HOME", str(tmp_path / "home"))
    (tmp_path / "cube.obj").write_text(CUBE)
    folder = tmp_path / "home" / "cards" / "powders"
    folder.mkdir(parents=True)
    text = (SHIPPED / "powders" / "steel-316l.toml").read_text("utf-8")
    (folder / "skinned.toml").write_text(text + SKIN)

    def call(last, powder="steel-316l"):
        (tmp_path / "order.toml").write_text(ORDER.format(powder=powder) + last)
        return orders.read(tmp_path / "order.toml", orders.BareOrder())

    return call


@pytest.mark.slow
def test_a_core_needs_a_skin(read):
    lean = 'core_saturation = "60 %"\n'
    with pytest.raises(OrderError, match="a core needs a skin") as told:
        read(lean)
    assert told.value.field == "[[part]] 1, core_saturation"
    assert read(lean + 'skin = "0 mm"\n').order.requests[0].skin_mm == 0.0


@pytest.mark.slow
def test_the_skin_may_be_on_the_powder_card(read):
    assert read('core_saturation = "60 %"\n', "skinned").order.requests[0].core_saturation == 0.6


@pytest.mark.slow
def test_an_order_is_not_told_otherwise_in_silence(read, tmp_path):
    read("")
    with pytest.raises(OrderError, match="--quantity and --box"):
        orders.read(tmp_path / "order.toml", orders.wish(quantity=3, box="box-400"))
