"""Every form of a layer file through every decoder at hand.

Pillow, rasterio (GDAL) and tiffcp all stand on libtiff, in three builds of it; tifffile with imagecodecs and
PDFium have decoders of their own. tiffcp is left out where it is not installed; the others always are.
"""

import io
import shutil
import subprocess
import warnings

import numpy as np
import pypdfium2
import pypdfium2.raw as pdfium
import pytest
import rasterio
import tifffile
from PIL import Image

from sagger.files import tiff
from sagger.geometry import raster
from sagger.geometry.raster import halftone

PITCH = (25.4 / 1200, 25.4 / 400)
ROWS, COLUMNS = 1500, 2600  # two strips; longer than the longest make-up code


def solid():
    """Rings and bars, none of them symmetric."""
    y, x = np.mgrid[:ROWS, :COLUMNS]
    ring = np.abs(np.hypot(x - 900, 1.5 * (y - 800)) - 500) < 90
    return ring | ((x > 1700) & (x < 2590) & ((x // 7 + y // 3) % 5 == 0)) | (y < 3) & (x > 20)


def drops_file(compression):
    image = solid()
    return tiff.encode(raster.from_image(image), tiff.LayerForm(PITCH, compression=compression)), image


def masked_file():
    packed = halftone.filled([(raster.from_image(solid()), 0.6)], 3)
    image = np.unpackbits(packed, axis=1, count=COLUMNS).astype(bool)
    return tiff.encode_levels(packed, COLUMNS, 1, tiff.LayerForm(PITCH)), image


FILES = {
    "g4": lambda: drops_file("g4"),
    "packbits": lambda: drops_file("packbits"),
    "deflate": lambda: drops_file("deflate"),
    "masked": masked_file,
}


def by_pillow(data, _folder):
    return ~np.asarray(Image.open(io.BytesIO(data)))[::-1]  # as shown: a drop is black, the first row lowest


def by_tifffile(data, _folder):
    return tifffile.imread(io.BytesIO(data)).astype(bool)


def by_gdal(data, folder):
    path = folder / "layer.tif"
    path.write_bytes(data)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", rasterio.errors.NotGeoreferencedWarning)  # a layer is not on the map
        with rasterio.open(path) as file:
            return file.read(1).astype(bool)


def by_tiffcp(data, folder):
    if shutil.which("tiffcp") is None:
        pytest.skip("tiffcp (Debian package libtiff-tools) is not installed")
    (folder / "in.tif").write_bytes(data)
    subprocess.run(["tiffcp", "-c", "none", folder / "in.tif", folder / "out.tif"], check=True)
    return tifffile.imread(folder / "out.tif").astype(bool)


def by_pdfium(data, _folder):
    """Each strip as the image of a page: the filters of PDF take T.6, zlib and PackBits as they are."""
    with tifffile.TiffFile(io.BytesIO(data)) as file:
        page = file.pages[0]
        kind = {4: "CCITTFaxDecode", 8: "FlateDecode", 32773: "RunLengthDecode"}[page.compression]
        parts = [data[at : at + size] for at, size in zip(page.dataoffsets, page.databytecounts, strict=True)]
        heights = [min(page.rowsperstrip, ROWS - first) for first in range(0, ROWS, page.rowsperstrip)]
    return np.vstack([decoded(part, kind, height) for part, height in zip(parts, heights, strict=True)])


def decoded(strip, kind, rows):
    document = pypdfium2.PdfDocument(pdf(strip, kind, rows))
    (image,) = document[0].get_objects(filter=[pdfium.FPDF_PAGEOBJ_IMAGE])
    shown = image.get_bitmap().to_numpy().reshape(rows, -1)[:, :COLUMNS]
    return shown == 0 if kind == "CCITTFaxDecode" else shown != 0  # T.6 shows black for 1


def pdf(strip, kind, rows):
    """A page that holds one image of one bit. ISO 32000-1: 7.4.4 (zlib), 7.4.5, 7.4.6 (T.6) and 8.9.5."""
    form = f"/DecodeParms << /K -1 /Columns {COLUMNS} /Rows {rows} >>" if kind == "CCITTFaxDecode" else ""
    strip = strip + b"\x80" if kind == "RunLengthDecode" else strip  # its end mark, which TIFF does without
    size = f"/Width {COLUMNS} /Height {rows} /BitsPerComponent 1 /ColorSpace /DeviceGray"
    head = f"<< /Type /XObject /Subtype /Image {size} /Filter /{kind} {form} /Length {len(strip)} >>"
    draw = b"1 0 0 1 0 0 cm /I Do"
    bodies = [
        b"<< /Type /Catalog /Pages 2 0 R >>",
        b"<< /Type /Pages /Kids [3 0 R] /Count 1 >>",
        b"<< /Type /Page /Parent 2 0 R /MediaBox [0 0 9 9] /Contents 5 0 R"
        b" /Resources << /XObject << /I 4 0 R >> >> >>",
        head.encode() + b"\nstream\n" + strip + b"\nendstream",
        b"<< /Length %d >>\nstream\n" % len(draw) + draw + b"\nendstream",
    ]
    out, places = b"%PDF-1.5\n", []
    for number, body in enumerate(bodies, 1):
        places.append(len(out))
        out += b"%d 0 obj\n" % number + body + b"\nendobj\n"
    table = b"".join(b"%010d 00000 n \n" % place for place in places)
    tail = b"trailer << /Size 6 /Root 1 0 R >>\nstartxref\n%d\n%%%%EOF\n" % len(out)
    return out + b"xref\n0 6\n0000000000 65535 f \n" + table + tail


@pytest.mark.slow
@pytest.mark.parametrize("reader", [by_pillow, by_tifffile, by_gdal, by_tiffcp, by_pdfium])
@pytest.mark.parametrize("name", FILES)
def test_every_reader_sees_the_same_drops(name, reader, tmp_path):
    data, image = FILES[name]()
    np.testing.assert_array_equal(reader(data, tmp_path), image)
