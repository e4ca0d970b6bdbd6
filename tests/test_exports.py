"""What a study leaves with, opened by readers that are not ours."""

import xml.etree.ElementTree as ElementTree
import zipfile
from io import BytesIO

import numpy as np
import pytest
import trimesh
from PIL import Image, ImageCms

from sitterlight.shading import colour_profiles
from sitterlight.shading.colour_spaces import XYZ_FROM_SRGB
from sitterlight.shading.export_openraster import openraster
from sitterlight.shading.exports import EXPORTS, export
from sitterlight.shading.picture import encode
from sitterlight.shading.sheet_strokes import sheet_strokes
from sitterlight.shading.sitting import LampLight, Sitting, SkyLight, with_head, with_lights
from sitterlight.shading.study import study_of

SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def study():
    lights = SkyLight(sky="open shade", illuminance=400.0), LampLight(name="lamp", illuminance=500.0)
    return study_of(with_head(with_lights(Sitting(title='Lamp & "sky"'), *lights), turn=25.0, lean=10.0))


@pytest.fixture(scope="module")
def archive(study):
    with zipfile.ZipFile(BytesIO(openraster(study))) as opened:
        yield opened


def layers(archive):
    """Name → (pixels, mode, visible, left, top), from below, groups opened."""
    root = ElementTree.fromstring(archive.read("stack.xml"))
    found = {}
    for element in reversed(list(root.iter("layer"))):
        pixels = np.asarray(Image.open(BytesIO(archive.read(element.get("src")))).convert("RGBA"))
        place = int(element.get("x")), int(element.get("y"))
        found[element.get("name")] = (pixels, element.get("composite-op"), element.get("visibility"), *place)
    return found


@pytest.mark.parametrize("name", EXPORTS)
def test_every_export_is_written_and_the_same_each_time(study, name, tmp_path):
    path = tmp_path / f"file{EXPORTS[name].ending}"
    shares = []
    export(study, name, path, shares.append)
    assert shares == sorted(shares) and shares[-1] == 1.0
    assert name != "layers" or len(shares) > 10
    assert path.read_bytes() == EXPORTS[name].content(study)
    assert [file.name for file in tmp_path.iterdir()] == [path.name]


def test_an_export_is_told_on_its_way_and_stopped_leaves_nothing(study, tmp_path):
    def stop(share):
        if 0.2 < share < 1:
            raise InterruptedError

    with pytest.raises(InterruptedError):
        export(study_of(study.scene.sitting), "picture", tmp_path / "head.png", stop)
    assert list(tmp_path.iterdir()) == []


def test_nothing_else_is_exported(study, tmp_path):
    with pytest.raises(ValueError, match="nothing to export"):
        export(study, "hologram", tmp_path / "x")


@pytest.mark.parametrize(("name", "space"), [("picture", "sRGB"), ("picture-p3", "Display P3")])
def test_pictures_hold_their_colour_space(study, name, space):
    image = Image.open(BytesIO(EXPORTS[name].content(study)))
    opened = ImageCms.ImageCmsProfile(BytesIO(image.info["icc_profile"]))
    assert ImageCms.getProfileDescription(opened).strip() == space
    assert "srgb" not in image.info
    as_srgb = ImageCms.profileToProfile(image, opened, ImageCms.createProfile("sRGB"))
    assert np.abs(np.asarray(as_srgb).astype(int) - study.head_picture).max() <= 3


def test_profiles_agree_with_littlecms():
    ours = ImageCms.ImageCmsProfile(BytesIO(colour_profiles.profile("sRGB")))
    codes = np.random.default_rng(1).integers(0, 256, (40, 40, 3), dtype=np.uint8)
    there = ImageCms.profileToProfile(Image.fromarray(codes), ImageCms.createProfile("sRGB"), ours)
    assert np.abs(np.asarray(there).astype(int) - codes).max() <= 1
    assert np.allclose(colour_profiles.XYZ_from_linear("sRGB"), XYZ_FROM_SRGB)


def test_openraster_begins_as_it_must(archive):
    first = archive.infolist()[0]
    assert (first.filename, first.compress_type) == ("mimetype", zipfile.ZIP_STORED)
    assert archive.read("mimetype") == b"image/openraster"
    thumbnail = Image.open(BytesIO(archive.read("Thumbnails/thumbnail.png")))
    assert max(thumbnail.size) == 256


def test_openraster_layers_have_their_names(archive):
    names = list(layers(archive))
    assert names[:7] == ["ground", "own colour", "shadow", "light", "sheen", "greying", "skylight notes"]
    assert len(names) > 40
    root = ElementTree.fromstring(archive.read("stack.xml"))
    assert root.get("name") == 'Lamp & "sky"'


def test_the_stack_of_layers_is_the_head_as_seen(archive, study):
    canvas = None
    for pixels, mode, visible, _, _ in list(layers(archive).values())[:7]:
        if visible != "visible":
            continue
        colour, alpha = pixels[..., :3] / 255, pixels[..., 3:] / 255
        if canvas is None:
            canvas = colour
        elif mode == "svg:multiply":
            canvas = canvas * (1 - alpha + alpha * colour)
        elif mode == "svg:plus":
            canvas = np.minimum(canvas + alpha * colour, 1)
        else:
            canvas = canvas * (1 - alpha) + alpha * colour
    off = np.abs(canvas * 255 - study.head_picture).max(axis=-1)
    whole = study.film.coverage > 0.999
    assert off[whole].max() <= 3
    assert off[study.film.coverage == 0].max() < 0.5
    assert off.mean() < 0.5
    assert off.max() < 60  # outlines are mixed on codes here, in linear light there
    merged = np.asarray(Image.open(BytesIO(archive.read("mergedimage.png"))))
    assert np.array_equal(merged[..., :3], study.head_picture)


def test_sheen_and_shadow_are_something(archive):
    found = layers(archive)
    assert found["sheen"][0][..., :3].max() > 20
    assert found["shadow"][0][..., :3].min() < 120
    assert found["light"][0][..., :3].max() > 5  # little here is lighter than its own colour


def test_light_is_added_only_where_the_skin_is_lighter_than_its_own_colour(archive):
    """What is darker than the skin's own colour is made by the shadow layer alone, as one paints shadow by hand."""
    found = {name: layers(archive)[name][0][..., :3].astype(int) for name in ("own colour", "shadow", "light")}
    assert found["shadow"][found["light"] > 2].min() == 255
    assert np.median(found["shadow"][found["own colour"] > 60]) > 20


def test_masks_part_the_head_into_planes(archive, study):
    total = np.zeros(study.film.coverage.shape)
    for pixels, _, _, left, top in list(layers(archive).values())[7:]:
        height, width = pixels.shape[:2]
        total[top : top + height, left : left + width] += pixels[..., 3] / 255
    assert total.max() < 1.03
    of_plane = np.asarray(study.scene.head.display.plane_of_face)[study.film.centre_face] >= 0
    inside = of_plane & (study.film.coverage > 0.999) & (study.film.centre_face >= 0)
    assert (total[inside] > 0.97).mean() > 0.99


def test_ply_opens_with_the_colours_as_seen(study):
    mesh = trimesh.load(BytesIO(EXPORTS["mesh-ply"].content(study)), file_type="ply", process=False)
    display = study.scene.head.display
    assert mesh.vertices.shape == display.vertices.shape
    assert mesh.faces.shape == np.asarray(display.faces).shape
    assert np.array_equal(mesh.visual.vertex_colors[:, :3], encode(study.seen))
    assert np.allclose(mesh.vertices @ study.scene.rotation, display.vertices, atol=1e-3)


def test_glb_opens_in_metres_with_linear_colours(study):
    scene = trimesh.load(BytesIO(EXPORTS["mesh-glb"].content(study)), file_type="glb", process=False)
    mesh = next(iter(scene.geometry.values()))
    assert len(mesh.vertices) == len(study.scene.head.display.vertices)
    assert 0.2 < np.ptp(mesh.vertices[:, 1]) < 0.6
    colours = np.asarray(mesh.visual.vertex_attributes["color"], float)
    assert np.abs(colours[:, :3] / 65535 - study.seen).max() < 1e-4


def test_swatches_are_the_strokes(study):
    strokes = sheet_strokes(study.table)
    root = ElementTree.fromstring(EXPORTS["swatches"].content(study))
    fills = [element.get("fill") for element in root.iter(f"{SVG}rect")][2:]
    assert fills == [stroke.srgb for stroke in strokes]
    texts = {element.text for element in root.iter(f"{SVG}text")}
    assert {stroke.srgb for stroke in strokes} <= texts
    sizes = {element.get("font-size") for element in root.iter(f"{SVG}text")}
    assert len(sizes) == 2  # of the families' names and of all that stands under a square
    shown = np.asarray(Image.open(BytesIO(EXPORTS["swatches-picture"].content(study)))).reshape(-1, 3)
    found, counts = np.unique(shown, axis=0, return_counts=True)
    flat = {"#{:02x}{:02x}{:02x}".format(*code) for code in found[counts > 2000]}
    assert {stroke.srgb for stroke in strokes} <= flat
