"""A part in the furnace, by finite elements: porous viscous body, own weight, sliding on its setter.

Source: equations of `law`; discretisation described in docs/why/solid.md.
"""

from sagger.physics.solid.body import Built, build
from sagger.physics.solid.course import FurnaceCourse, fired, plain
from sagger.physics.solid.feet import Feet, Setter, Support
from sagger.physics.solid.gas import Shut, end
from sagger.physics.solid.law import Shrink, shrink
from sagger.physics.solid.march import Fired, GreenBricks, fire
from sagger.physics.solid.points import Points, carried
from sagger.physics.solid.skin import Skin
from sagger.physics.solid.state import FiringSetting

__all__ = [
    "Built",
    "Feet",
    "Fired",
    "FiringSetting",
    "FurnaceCourse",
    "GreenBricks",
    "Points",
    "Setter",
    "Shrink",
    "Shut",
    "Skin",
    "Support",
    "build",
    "carried",
    "end",
    "fire",
    "fired",
    "plain",
    "shrink",
]
