"""A print head card, once read."""

from __future__ import annotations

from sagger.goods.figure import Figure, figure, figures
from sagger.goods.good import good


@good
class Head:
    """Passes run along x (the spreading stroke); nozzles stand along y."""

    name: str
    title: str
    bits: int  # 1 = drop or none; 2 or 4 = levels
    polarity: str  # "black is drop" (photometric WhiteIsZero) or "white is drop"
    first_row: str = "y low"  # of a layer's file, or "y high"
    dead_nozzles: tuple[int, ...] = ()  # nozzle 0 lies lowest in y
    pass_images: bool = False  # a file per pass beside that of each layer
    skips_empty: bool = False  # stripes of a layer in which no drop falls are not passed over
    levels: tuple[Figure, ...] = figures("volume")  # nominal drop of each grey level, smallest first
    resolution_x: Figure = figure("resolution")  # along the pass
    resolution_y: Figure = figure("resolution")  # across it, printed
    native_y: Figure = figure("resolution")  # of the nozzles
    nozzles: Figure = figure("count")
    redundancy: Figure = figure("count")  # passes over each place
    drop: Figure = figure("volume")  # nominal
    drop_least: Figure = figure("volume")
    drop_most: Figure = figure("volume")
    drop_speed: Figure = figure("speed")
    frequency: Figure = figure("frequency")  # highest firing frequency
    pass_speed: Figure = figure("speed")
    turn_time: Figure = figure("time")
    clean_time: Figure = figure("time")
    clean_every: Figure = figure("count")
