"""Draws the picture of the README: `.venv/bin/python docs/pictures/draw.py` writes demo.png beside itself."""

import io
from pathlib import Path

from PIL import Image

from sagger import line
from sagger.desk.planning.orders import read, wish
from sagger.stations import layers
from sagger.views.paper import traveller

HERE = Path(__file__).parent
ORDER = HERE.parents[1] / "examples" / "order-metal.toml"


def main() -> None:
    asked = read(ORDER, wish())
    job = line.run(
        asked.order, asked.files, asked.cell, None, lambda verb, *inputs: verb(*inputs), layers.count
    )
    seen = traveller.photograph(job.builds[0])
    bed, layer = (Image.open(io.BytesIO(png)).convert("RGB") for png in (seen.corner, seen.layer))
    layer = layer.resize((round(layer.width * 0.75), round(layer.height * 0.75)), Image.Resampling.LANCZOS)
    sheet = Image.new("RGB", (bed.width + 60 + layer.width, max(bed.height, layer.height)), "white")
    sheet.paste(bed, (0, (sheet.height - bed.height) // 2))
    sheet.paste(layer, (bed.width + 40, (sheet.height - layer.height) // 2))
    sheet.quantize(64).save(HERE / "demo.png", optimize=True)


if __name__ == "__main__":
    main()
