"""Decoding, against the orientation table of Exif 2.32, Pillow's own colour conversion and files broken on purpose."""

from __future__ import annotations

import io
import struct
import time
import zlib
from pathlib import Path

import numpy as np
import pillow_heif
import pytest
from PIL import Image, ImageCms

from condition.errors import Refused
from condition.imaging.decode import PIXEL_LIMIT, as_stored, decode
from condition.words import say_error

SAMPLES = Path(__file__).parent / "samples"

STORED = np.array([[1, 2, 3], [4, 5, 6]])
SHOWN = {
    1: [[1, 2, 3], [4, 5, 6]],
    2: [[3, 2, 1], [6, 5, 4]],
    3: [[6, 5, 4], [3, 2, 1]],
    4: [[4, 5, 6], [1, 2, 3]],
    5: [[1, 4], [2, 5], [3, 6]],
    6: [[4, 1], [5, 2], [6, 3]],
    7: [[6, 3], [5, 2], [4, 1]],
    8: [[3, 6], [2, 5], [1, 4]],
}
"""Exif 2.32, tag 0x0112, as Pillow's exif_transpose shows it."""

LEVELS = np.array([0, 40, 80, 120, 160, 200, 240], np.uint8)


def saved(picture: Image.Image, form: str, **options) -> bytes:
    out = io.BytesIO()
    picture.save(out, form, **options)
    return out.getvalue()


def with_orientation(orientation: int) -> Image.Exif:
    tags = Image.Exif()
    tags[0x0112] = orientation
    return tags


def blocks() -> Image.Image:
    """Six 16 px blocks of grey, 2 rows of 3, that a JPEG keeps exactly enough."""
    return Image.fromarray(np.kron(LEVELS[STORED], np.ones((16, 16), np.uint8)).astype(np.uint8)).convert("RGB")


@pytest.mark.parametrize("orientation", range(1, 9))
def test_the_stored_view_of_an_upright_array_runs_as_the_table_says(orientation):
    assert np.array_equal(as_stored(np.array(SHOWN[orientation]), orientation), STORED)


@pytest.mark.parametrize("form", ["JPEG", "PNG", "WEBP", "TIFF"])
@pytest.mark.parametrize("orientation", range(1, 9))
def test_every_orientation_comes_out_upright_in_every_format(orientation, form):
    photo = decode(saved(blocks(), form, exif=with_orientation(orientation)), name="a")
    centres = photo.rgb[8::16, 8::16].astype(int)
    assert (photo.height, photo.width) == photo.rgb.shape[:2]
    assert np.abs(centres - LEVELS[np.array(SHOWN[orientation])][..., None]).max() <= 4


@pytest.mark.parametrize("orientation", range(1, 9))
def test_a_heif_turns_itself_and_is_not_turned_again(orientation):
    """pillow-heif writes a picture's Orientation as the file's own ``irot`` and ``imir``, and leaves the tag in."""
    source = pillow_heif.from_pillow(blocks())
    source.info["exif"] = with_orientation(orientation).tobytes()
    out = io.BytesIO()
    source.save(out, quality=95)
    data = out.getvalue()
    assert (b"irot" in data or b"imir" in data) == (orientation != 1)
    photo = decode(data, name="a")
    assert np.abs(photo.rgb[8::16, 8::16].astype(int) - LEVELS[np.array(SHOWN[orientation])][..., None]).max() <= 6


def test_the_orientation_tag_left_in_a_turned_heif_is_not_applied():
    data = (SAMPLES / "turned.heic").read_bytes()
    photo = decode(data, name="a")
    assert photo.header.orientation == 6
    assert np.array_equal(photo.rgb, np.asarray(pillow_heif.open_heif(data)[0]))


@pytest.mark.parametrize("orientation", [3, 6, 8])
def test_real_tiffs_of_all_orientations_show_the_same_picture(orientation):
    """The files were scanned and coded one by one: a fifth of a percent of their pixels differ."""
    upright = decode((SAMPLES / "fax_orientation_1.tif").read_bytes(), name="a").rgb
    turned = decode((SAMPLES / f"fax_orientation_{orientation}.tif").read_bytes(), name="a").rgb
    assert turned.shape == upright.shape
    assert (turned != upright).mean() < 0.005


def test_two_pixels_stored_side_by_side_stand_on_each_other():
    photo = decode((SAMPLES / "two_pixels_orientation_8.jpg").read_bytes(), name="a")
    assert (photo.width, photo.height) == (1, 2)


def test_sixteen_bits_become_the_eight_that_the_reference_has():
    wide = decode((SAMPLES / "sixteen_bit.tiff").read_bytes(), name="a").rgb
    target = np.asarray(Image.open(SAMPLES / "sixteen_bit_as_eight.png").convert("RGB"))
    assert np.array_equal(wide, target)


def test_ten_bit_heif_agrees_with_its_source():
    seen = decode((SAMPLES / "ten_bit.heif").read_bytes(), name="a").rgb.astype(int)
    source = np.asarray(Image.open(SAMPLES / "ten_bit_source.png").convert("RGB")).astype(int)
    assert np.abs(seen - source).mean() < 4


def test_sixteen_bit_grey_keeps_its_ramp():
    ramp = np.linspace(0, 65535, 256).astype(np.uint16).reshape(16, 16)
    photo = decode(saved(Image.fromarray(ramp), "PNG"), name="a")
    assert np.array_equal(photo.rgb[..., 0].ravel(), np.round(ramp.ravel() / 257).astype(np.uint8))
    assert np.array_equal(photo.rgb[..., 0], photo.rgb[..., 2])


@pytest.mark.parametrize("mode", ["1", "L", "P", "RGB", "CMYK", "YCbCr"])
def test_every_common_mode_comes_out_as_pillow_shows_it(mode):
    picture = blocks().convert(mode)
    photo = decode(saved(picture, "TIFF"), name="a")
    assert np.abs(photo.rgb.astype(int) - np.asarray(picture.convert("RGB")).astype(int)).max() <= 1


@pytest.mark.parametrize("mode", ["RGBA", "LA"])
def test_transparency_is_laid_on_white(mode):
    picture = Image.new(mode, (8, 8), (200, 100, 50, 0) if mode == "RGBA" else (200, 0))
    picture.paste((200, 100, 50, 255) if mode == "RGBA" else (200, 255), (0, 0, 4, 8))
    rgb = decode(saved(picture, "PNG"), name="a").rgb
    assert tuple(rgb[0, 7]) == (255, 255, 255)
    assert tuple(rgb[0, 0]) == ((200, 100, 50) if mode == "RGBA" else (200, 200, 200))


def test_a_palette_colour_named_transparent_is_laid_on_white():
    picture = Image.new("P", (4, 4), 1)
    picture.putpalette([255, 0, 0, 0, 0, 255])
    rgb = decode(saved(picture, "PNG", transparency=1), name="a").rgb
    assert tuple(rgb[0, 0]) == (255, 255, 255)


# An ICC profile with the primaries of Adobe RGB (1998), its white, and gamma 563/256, put together from ICC.1:2022
# (matrix/TRC display profile; colorants adapted to D50 as in Adobe RGB (1998) Color Image Encoding, annex).
def wide_gamut_profile() -> bytes:
    def fixed(value: float) -> bytes:
        return struct.pack(">i", round(value * 65536))

    def xyz(x: float, y: float, z: float) -> bytes:
        return b"XYZ \0\0\0\0" + fixed(x) + fixed(y) + fixed(z)

    curve = b"curv\0\0\0\0" + struct.pack(">IH", 1, round(563 / 256 * 256)) + b"\0\0"
    text = b"desc\0\0\0\0" + struct.pack(">I", 5) + b"wide\0" + bytes(78)
    tags = {
        b"desc": text + bytes(-len(text) % 4),
        b"wtpt": xyz(0.9642, 1.0, 0.8249),
        b"rXYZ": xyz(0.60974, 0.31111, 0.01947),
        b"gXYZ": xyz(0.20528, 0.62567, 0.06087),
        b"bXYZ": xyz(0.14919, 0.06322, 0.74457),
        b"rTRC": curve,
        b"gTRC": curve,
        b"bTRC": curve,
        b"cprt": b"text\0\0\0\0none\0\0\0\0",
    }
    start, table, body = 128 + 4 + 12 * len(tags), b"", b""
    for name, data in tags.items():
        table += name + struct.pack(">II", start + len(body), len(data))
        body += data
    head = struct.pack(">I4sI4s4s4s", start + len(body), bytes(4), 0x02400000, b"mntr", b"RGB ", b"XYZ ")
    head += bytes(12) + b"acsp" + bytes(28) + fixed(0.9642) + fixed(1.0) + fixed(0.8249) + bytes(48)
    return head[:128].ljust(128, b"\0") + struct.pack(">I", len(tags)) + table + body


def test_an_embedded_profile_is_converted_to_srgb():
    """Adobe RGB (1998) (153, 102, 76) is sRGB (168, 102, 74), recomputed here with colour-science."""
    import colour

    coded = np.array([153, 102, 76]) / 255
    truth = colour.RGB_to_RGB(
        coded,
        "Adobe RGB (1998)",
        "sRGB",
        chromatic_adaptation_transform="Bradford",
        apply_cctf_decoding=True,
        apply_cctf_encoding=True,
    )
    picture = Image.new("RGB", (8, 8), (153, 102, 76))
    photo = decode(saved(picture, "PNG", icc_profile=wide_gamut_profile()), name="a")
    assert photo.profile == "converted"
    assert np.abs(photo.rgb[0, 0] - truth * 255).max() < 1.5
    assert photo.rgb[0, 0, 0] > 160


@pytest.mark.parametrize("form", ["JPEG", "PNG", "TIFF", "WEBP"])
def test_a_profile_is_seen_in_every_format(form):
    picture = Image.new("RGB", (16, 16), (153, 102, 76))
    rgb = decode(saved(picture, form, icc_profile=wide_gamut_profile()), name="a").rgb
    assert np.abs(rgb[8, 8].astype(int) - (169, 102, 74)).max() <= 4


def test_an_srgb_profile_changes_no_pixel():
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    photo = decode(saved(blocks(), "PNG", icc_profile=profile), name="a")
    assert photo.profile == "srgb"
    assert np.array_equal(photo.rgb, np.asarray(blocks()))


@pytest.mark.parametrize("broken", [b"x", b"\0" * 200, wide_gamut_profile()[:150]])
def test_a_broken_profile_does_not_cost_the_photo(broken):
    photo = decode(saved(blocks(), "PNG", icc_profile=broken), name="a")
    assert photo.profile == "unusable"
    assert np.array_equal(photo.rgb, np.asarray(blocks()))


def test_p3_named_by_number_is_converted():
    """P3 red is outside sRGB; P3 (128, 128, 128) stays grey, (180, 100, 80) becomes what colour-science says."""
    import colour

    from condition.imaging.profile import numbered_conversion

    convert, outcome = numbered_conversion({"color_primaries": 12, "transfer_characteristics": 13})
    truth = colour.RGB_to_RGB(
        np.array([180, 100, 80]) / 255, "Display P3", "sRGB", apply_cctf_decoding=True, apply_cctf_encoding=True
    )
    seen = np.asarray(convert(Image.new("RGB", (2, 1), (180, 100, 80))))[0, 0]
    assert outcome == "converted"
    assert np.abs(seen - truth * 255).max() < 1
    assert tuple(np.asarray(convert(Image.new("RGB", (1, 1), (128, 128, 128))))[0, 0]) == (128, 128, 128)


def test_of_two_pictures_in_a_jpeg_the_first_is_taken_and_pages_are_counted():
    photo = decode((SAMPLES / "two_pictures.mpo").read_bytes(), name="a")
    assert (photo.format, photo.width, photo.height, photo.pictures) == ("MPO", 56, 70, 1)
    pages = saved(Image.new("RGB", (4, 4), "red"), "TIFF", save_all=True, append_images=[Image.new("RGB", (4, 4))] * 2)
    tiff = decode(pages, name="a")
    assert tiff.pictures == 3
    assert tuple(tiff.rgb[0, 0]) == (255, 0, 0)


def code_of(data: bytes, **options) -> str:
    with pytest.raises(Refused) as refusal:
        decode(data, name="IMG_2034.jpg", **options)
    sentence = say_error(refusal.value)
    assert "IMG_2034.jpg" in sentence
    assert "\n" not in sentence
    assert not sentence.startswith("photo.")
    return refusal.value.code


NOISE = np.random.default_rng(7).integers(0, 255, (200, 300, 3), np.uint8)


@pytest.mark.parametrize("form", ["JPEG", "PNG", "TIFF", "WEBP"])
@pytest.mark.parametrize("share", [0.3, 0.6, 0.95])
def test_a_photo_cut_short_is_refused_as_cut_short(form, share):
    data = saved(Image.fromarray(NOISE), form)
    assert code_of(data[: int(len(data) * share)]) in ("photo.truncated", "photo.damaged")


@pytest.mark.parametrize("progressive", [False, True])
@pytest.mark.parametrize("share", [0.3, 0.6, 0.95])
def test_a_jpeg_cut_short_says_so(progressive, share):
    data = saved(Image.fromarray(NOISE), "JPEG", progressive=progressive)
    assert code_of(data[: int(len(data) * share)]) == "photo.truncated"


def test_a_copy_that_broke_off_and_was_padded_with_zeros_is_refused():
    data = saved(Image.fromarray(NOISE), "JPEG")
    half = len(data) // 2
    assert code_of(data[:half] + bytes(len(data) - half)) == "photo.truncated"


def test_zeros_after_a_whole_jpeg_do_no_harm():
    assert decode(saved(Image.fromarray(NOISE), "JPEG") + bytes(4096), name="a").width == 300


def test_a_heif_cut_short_is_refused():
    assert code_of((SAMPLES / "corrupted.heic").read_bytes()) == "photo.truncated"
    whole = (SAMPLES / "grey_with_zone.heic").read_bytes()
    assert code_of(whole[:20000]) in ("photo.truncated", "photo.damaged")


@pytest.mark.parametrize(
    ("data", "code"),
    [
        (b"", "photo.empty"),
        (b"Dear customer, the photos follow.\n", "photo.not_a_photo"),
        (b"%!PS-Adobe-3.0 EPSF-3.0\n%%BoundingBox: 0 0 100 100\n{ } loop\n", "photo.not_a_photo"),
        (b"\xc5\xd0\xd3\xc6" + bytes(30), "photo.not_a_photo"),
        (b"%PDF-1.7\n", "photo.not_a_photo"),
        (b"GIF89a" + bytes(30), "photo.not_a_photo"),
        (b"\0\0\0\x18ftypisom\0\0\0\0mp42", "photo.not_a_photo"),
        (b"\0\0\0\x1cftypavif\0\0\0\0mif1avif", "photo.not_a_photo"),
        (b"<svg xmlns='http://www.w3.org/2000/svg'/>", "photo.not_a_photo"),
        (bytes(5000), "photo.truncated"),
        (b"\xff\xd8\xff\xe0" + bytes(100), "photo.damaged"),
        (b"\x89PNG\r\n\x1a\n" + b"junk" * 20, "photo.damaged"),
        (b"II*\0\x08\0\0\0\0\0", "photo.damaged"),
    ],
)
def test_what_is_no_photo_is_told_apart_from_what_is_broken(data, code):
    seen = code_of(data)
    assert seen == code or {seen, code} == {"photo.damaged", "photo.truncated"}


def png_header(width: int, height: int) -> bytes:
    """A PNG of that size by its header, with hardly any pixels (ISO/IEC 15948, 11.2.2)."""

    def chunk(name: bytes, body: bytes) -> bytes:
        return struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))

    head = chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0))
    return b"\x89PNG\r\n\x1a\n" + head + chunk(b"IDAT", zlib.compress(bytes(1000))) + chunk(b"IEND", b"")


def test_the_size_in_the_header_is_checked_before_a_pixel_is_decoded():
    started = time.monotonic()
    with pytest.raises(Refused) as refusal:
        decode(png_header(30000, 30000), name="big.png")
    assert time.monotonic() - started < 1
    assert refusal.value.code == "photo.too_large"
    assert "900 megapixels" in say_error(refusal.value)


def test_the_limit_is_on_purpose_and_can_be_narrowed():
    assert PIXEL_LIMIT == 120_000_000
    data = saved(Image.fromarray(NOISE), "PNG")
    assert decode(data, name="a", pixel_limit=60_000).width == 300
    assert code_of(data, pixel_limit=59_999) == "photo.too_large"


def many_scans(scans: int) -> bytes:
    """A progressive JPEG whose last refinement scan is repeated (ITU-T T.81, annex G)."""
    data = saved(Image.fromarray(NOISE), "JPEG", progressive=True)
    last = data.rfind(b"\xff\xda")
    return data[:last] + data[last:-2] * scans + b"\xff\xd9"


def test_a_jpeg_of_countless_scans_is_refused_at_once():
    assert decode(many_scans(1), name="a").width == 300
    started = time.monotonic()
    assert code_of(many_scans(5000)) == "photo.too_slow"
    assert time.monotonic() - started < 1


def test_a_raw_file_is_not_taken_for_its_preview():
    """DNGVersion 0xC612 (DNG specification), NewSubfileType bit 0 (TIFF 6.0, reduced-resolution image)."""
    for tag, value in ((0xC612, b"\1\4\0\0"), (0x00FE, 1)):
        data = saved(Image.fromarray(NOISE), "TIFF", tiffinfo={tag: value})
        assert code_of(data) == "photo.raw"


@pytest.mark.parametrize("mode", ["F", "LAB"])
def test_a_colour_form_that_would_come_out_wrong_is_refused(mode):
    assert code_of(saved(Image.new(mode, (8, 8)), "TIFF")) == "photo.depth"


def test_no_byte_turned_over_gets_past_the_door_as_anything_but_a_refusal():
    """300 mutations of five formats, from a fixed seed."""
    chance = np.random.default_rng(11)
    small = Image.fromarray(NOISE[:40, :60])
    wholes = [saved(small, form) for form in ("JPEG", "PNG", "TIFF", "WEBP")]
    wholes.append((SAMPLES / "turned.heic").read_bytes())
    for turn in range(300):
        data = bytearray(wholes[turn % 5])
        for at in chance.integers(0, len(data), 6):
            data[at] = chance.integers(0, 256)
        try:
            photo = decode(bytes(data), name="a", pixel_limit=1_000_000)
        except Refused:
            continue
        assert photo.rgb.dtype == np.uint8
        assert photo.rgb.shape == (photo.height, photo.width, 3)
