"""Renders one photograph to a linear 32-bit EXR.

Usage: render.py SHOT TEXTURES OUT.exr [SCALE_PERCENT] [SAMPLES] [THRESHOLD] [X0,Y0,X1,Y1]
The last argument renders only that part (fractions of width and height from the top left) for a close look.
"""

import sys
import time
from pathlib import Path

import bpy
import build as b
import geometry as g
import numpy as np
from build import UNIT, Workshop, moved, place
from mathutils import Matrix
from paint import lin
from shots import OVERSCAN, SHOTS, Shot


def kelvin(t: float) -> np.ndarray:
    """Rough linear sRGB of a black body relative to 5500 K (a fit, good enough to tint a lamp)."""
    x = np.log(t / 5500.0)
    return np.exp(np.array([-0.62, -0.05, 0.95]) * x)


def bench(w: Workshop, s: Shot) -> g.Frame:
    a = np.radians(s.turn_bench)
    f = g.Frame(s.bench.origin, *b.spin(s.bench, s.turn_bench))
    size, tile = 1500.0, (160.0 if s.cover == "cloth" else 1500.0)
    half = size / 2
    ring = np.array([(-half, -half), (half, -half), (half, half), (-half, half)])
    material = w.canvas() if s.cover == "cloth" else w.painted("bench")
    uv = ring / tile + 0.5
    w.mesh("bench", np.c_[ring, np.zeros(4)], [[0, 1, 2, 3]], material, uv, frame=f)
    del a
    return f


def room(w: Workshop, s: Shot) -> None:
    """What stands far behind a picture taken along the bench."""
    if s.view != "tail":
        return
    wall = w.plain("wall", lin("8d8577"), 0.9, grain=(0.12, 0.12, 0.2), dark=lin("5b5348"))
    back = g.Frame(np.array([0.0, 1500.0, 200.0]), g.X, g.Z)
    w.mesh(
        "wall",
        np.array([(-2500, -900, 0), (2500, -900, 0), (2500, 2500, 0), (-2500, 2500, 0)]),
        [[0, 1, 2, 3]],
        wall,
        frame=back,
    )
    rng = np.random.default_rng(5 + s.seed)
    tones = ("4a3828", "3a3f42", "5f3f33", "857a5e", "3a3d36", "b3a888", "262422", "6d5f49")
    profile = ((0, 0), (1, 0.02), (1, 0.72), (0.75, 0.82), (0.7, 0.86), (0.72, 1.0), (0, 1.0))
    for k in range(24):
        m = w.plain(f"thing {k % 8}", lin(tones[k % 8]), 0.45, coat=0.3, mottle=0.25)
        spot = g.Frame(np.array([-950 + 80 * k + rng.uniform(-35, 35), rng.uniform(1000, 1350), g.BACK_Z]), g.X, g.Y)
        if k % 3 == 1:
            w.box(
                "thing",
                (rng.uniform(40, 150), rng.uniform(30, 90), rng.uniform(25, 120)),
                spot,
                m,
                2.0,
                rng.uniform(-30, 30),
            )
        else:
            r, h = rng.uniform(18, 42), rng.uniform(70, 170)
            w.lathe("jar", [(a * r, c * h) for a, c in profile], spot, m, 32)
    w.box(
        "shelf",
        (1900, 180, 26),
        g.Frame(np.array([0, 1400.0, 330.0]), g.X, g.Y),
        w.plain("shelf", lin("6d4a2b"), 0.6),
        1.0,
    )


def cards(w: Workshop, s: Shot) -> None:
    for c in s.cards:
        thick = g.CARD_THICKNESS
        f = moved(s.plane, c.x, c.y, s.card_height - thick)
        f = g.Frame(f.origin, *b.spin(f, c.turn))
        half = 28.0
        ring = np.array([(-half, -half), (half, -half), (half, half), (-half, half)])
        w.prism("card", ring, 0.0, thick, w.paper(c.number), 0.0, f, (-half, half, -half, half))
        if s.view == "headstock back":
            wood = w.plain("beech block", lin("b98d5c"), 0.6, grain=(0.7, 14, 14), dark=lin("8a6238"), bump=0.1)
            w.prism(
                "block",
                b.rotate(np.array([(-33, -36), (34, -36), (34, 37), (-33, 37)]), -c.turn * 0.4),
                -120,
                -0.01,
                wood,
                1.2,
                moved(f, 0, 0),
            )
        if s.view == "tail":
            tape = w.plain("masking tape", lin("d9c48e"), 0.7, mottle=0.1)
            for q in (-1, 1):
                ring = b.rotate(np.array([(-4.5, -5.5), (4.5, -5.5), (4.7, 5.5), (-4.3, 5.5)]), 45 * q) + np.array(
                    [q * 27.2, 27.2]
                )
                w.prism("tape", ring, thick + 0.02, thick + 0.1, tape, 0.0, f)


def pencil(w: Workshop, at: g.Frame, colour: str) -> None:
    """A hexagonal pencil lying along the frame's x."""
    f = g.Frame(at.at(0, 0, 3.6), at.up, at.normal)
    hexagon = np.array([(3.7 * np.cos(t), 3.7 * np.sin(t)) for t in np.linspace(0, 2 * np.pi, 6, endpoint=False)])
    w.prism("pencil", hexagon, 0, 118, w.plain(f"pencil {colour}", lin(colour), 0.35, coat=0.5), 0.3, f)
    w.lathe(
        "pencil cone", [(3.6, 118), (1.0, 132), (0.0, 132.1)], f, w.plain("cedar", lin("c79763"), 0.7, mottle=0.2), 24
    )
    w.lathe("lead tip", [(1.02, 131.9), (0.3, 135.5), (0, 135.6)], f, w.plain("graphite", lin("2a2a2c"), 0.4), 16)


def props(w: Workshop, s: Shot, f: g.Frame) -> None:
    def spot(x: float, y: float, turn: float, h: float = 0.0) -> g.Frame:
        """A place on the bench, near (x, y) of the picture's plane."""
        target = s.bench.at(x, y, h)
        base = g.Frame(target, s.bench.right, s.bench.up)
        return g.Frame(target, *b.spin(base, turn))

    del f
    for name in s.props:
        if name == "pencil":
            pencil(w, spot(206, 48, 78), "a33a22")
        elif name == "pencil2":
            pencil(w, spot(-212, -40, 62), "2f4a3a")
        elif name == "block":
            wood = w.plain("beech block", lin("b98d5c"), 0.6, grain=(0.7, 14, 14), dark=lin("8a6238"), bump=0.1)
            w.box("block", (62, 38, 24), spot(-185, 248, 17), wood, 1.0)
        elif name == "tape":
            paper = w.plain("tape roll", lin("cdb684"), 0.7, mottle=0.1)
            w.lathe(
                "roll",
                [(19, 0.2), (19, 24), (19.6, 24.4), (33, 24.4), (33.6, 24), (33.6, 0.2)],
                spot(222, -48, 0),
                paper,
                90,
            )
            w.lathe(
                "core",
                [(18.9, 0.2), (18.9, 24.6), (17, 24.6), (17, 0.2)],
                spot(222, -48, 0),
                w.plain("board", lin("8b6f4a"), 0.8),
                90,
            )
        elif name == "screwdriver":
            t = spot(-168, 652, 4, 10.6)
            axis = g.Frame(t.origin, t.up, t.normal)
            steel = w.plain("tool steel", lin("9b9893"), 0.3, 1.0)
            handle = w.plain("tool handle", lin("7c3a1c"), 0.35, grain=(12, 12, 0.6), dark=lin("3f1a0c"), coat=0.4)
            w.lathe("blade", [(0, 0), (1.6, 0), (1.9, 4), (1.9, 70), (3.6, 74)], axis, steel, 32)
            w.lathe(
                "handle",
                [(5, 72), (6.2, 76), (6.4, 80), (9, 92), (10.5, 112), (10.2, 138), (7.5, 152), (4, 157), (0, 158)],
                axis,
                handle,
                48,
            )
        elif name == "pin":
            ebony = w.plain("ebony", lin("1c1512"), 0.3, coat=0.3, mottle=0.3)
            base = g.Frame(np.array([84.0, -40.0, g.BACK_Z + 6.9]), g.Y, g.Z)
            tilt = np.radians(63)
            axis = g.Frame(base.origin, np.array([-np.sin(tilt), np.cos(tilt), 0.0]), g.Z)
            w.lathe(
                "end pin",
                [
                    (0, 12.5),
                    (2.5, 12.3),
                    (4.6, 11.4),
                    (6.3, 9.6),
                    (6.9, 7.4),
                    (6.5, 5.2),
                    (5.3, 3.6),
                    (5.0, 2.6),
                    (6.6, 1.8),
                    (6.9, 0.9),
                    (6.5, 0.0),
                    (4.4, -0.4),
                    (3.9, -14),
                    (3.6, -24),
                    (3.0, -24.6),
                    (0, -24.7),
                ],
                axis,
                ebony,
                64,
            )


def pad(w: Workshop, s: Shot) -> None:
    """What an instrument lying on its face rests on."""
    if s.bench is not g.BENCH_UP:
        return
    grey = w.plain("pad", lin("3b3f45"), 0.95, mottle=0.25)
    f = g.Frame(np.array([0.0, 0.0, 29.9]), g.X, g.Y)
    w.prism("pad", b.inset(g.outline(), 26.0)[::3], -29.5, 0.0, grey, 0.0, f)
    w.box(
        "neck rest",
        (90, 46, 24),
        moved(g.Frame(np.array([0, 560.0, 30.0]), -g.X, g.Y), 0, 0),
        w.plain("rest", lin("5d5a50"), 0.9, mottle=0.2),
        3.0,
    )


def lamps(s: Shot) -> None:
    for k, lamp in enumerate(s.lamps):
        data = bpy.data.lights.new(f"lamp {k}", "AREA")
        data.shape = "SQUARE"
        data.size = lamp.size * UNIT
        data.energy = lamp.power * 6.0
        data.color = kelvin(lamp.kelvin)
        thing = bpy.data.objects.new(data.name, data)
        bpy.context.collection.objects.link(thing)
        at = s.bench.at(*lamp.at)
        aim = s.bench.at(*lamp.aim)
        z = (at - aim) / np.linalg.norm(at - aim)
        x = np.cross(s.bench.up, z)
        x /= np.linalg.norm(x)
        place(thing, g.Frame(at, x, np.cross(z, x)))
    world = bpy.data.worlds.new("surround")
    bpy.context.scene.world = world
    world.use_nodes = True
    t = world.node_tree
    shade = t.nodes["Background"]
    coordinate, ramp, split = (
        t.nodes.new(n) for n in ("ShaderNodeTexCoord", "ShaderNodeValToRGB", "ShaderNodeSeparateXYZ")
    )
    rotate = t.nodes.new("ShaderNodeVectorRotate")
    rotate.rotation_type = "EULER_XYZ"
    flip = np.pi if s.bench.normal[2] < 0 else 0.0
    rotate.inputs["Rotation"].default_value = (0, flip, 0)
    t.links.new(coordinate.outputs["Generated"], rotate.inputs["Vector"])
    t.links.new(rotate.outputs["Vector"], split.inputs["Vector"])
    t.links.new(split.outputs["Z"], ramp.inputs["Fac"])
    r = np.array(s.surround)
    ramp.color_ramp.elements[0].color = (*(0.45 * r * np.array([1.1, 1.0, 0.85])), 1)
    ramp.color_ramp.elements[1].color = (*(1.15 * r), 1)
    ramp.color_ramp.elements[1].position = 0.9
    t.links.new(ramp.outputs["Color"], shade.inputs["Color"])
    shade.inputs["Strength"].default_value = 0.75
    world.cycles.sampling_method = "NONE"


def camera(s: Shot, percent: float) -> None:
    scene = bpy.context.scene
    width, height = (round(v * OVERSCAN) for v in s.size)
    scene.render.resolution_x, scene.render.resolution_y = width, height
    scene.render.resolution_percentage = round(percent)
    data = bpy.data.cameras.new("camera")
    data.sensor_fit = "HORIZONTAL"
    data.sensor_width = 36.0
    data.lens = s.focal_px * 36.0 / width
    data.clip_start, data.clip_end = 0.05, 500
    rotation, eye = s.camera()
    data.dof.use_dof = True
    data.dof.focus_distance = (s.distance + s.focus_offset) * UNIT
    aperture_mm = s.focal_mm / s.f_number
    data.dof.aperture_fstop = data.lens / (aperture_mm * UNIT * 1000.0)
    thing = bpy.data.objects.new("camera", data)
    scene.collection.objects.link(thing)
    m = np.eye(4)
    m[:3, 0], m[:3, 1], m[:3, 2], m[:3, 3] = rotation[0], -rotation[1], -rotation[2], eye * UNIT
    thing.matrix_world = Matrix(m.tolist())
    scene.camera = thing


def settings(samples: int, threshold: float, seed: int, threads: int = 0) -> None:
    scene = bpy.context.scene
    scene.render.engine = "CYCLES"
    c = scene.cycles
    c.device = "CPU"
    c.samples = samples
    c.use_adaptive_sampling = True
    c.adaptive_threshold = threshold
    c.adaptive_min_samples = 4
    c.use_light_tree = False
    c.use_denoising = True
    c.denoiser = "OPENIMAGEDENOISE"
    c.denoising_input_passes = "RGB_ALBEDO_NORMAL"
    c.denoising_prefilter = "ACCURATE"
    c.max_bounces, c.diffuse_bounces, c.glossy_bounces, c.transmission_bounces = 2, 1, 1, 0
    c.caustics_reflective = c.caustics_refractive = False
    c.sample_clamp_indirect = 6.0
    c.blur_glossy = 0.5
    c.pixel_filter_type = "BLACKMAN_HARRIS"
    c.filter_width = 1.3
    c.seed = seed
    c.use_auto_tile = False
    scene.view_settings.view_transform = "Raw"
    scene.render.image_settings.file_format = "OPEN_EXR"
    scene.render.image_settings.color_depth = "32"
    scene.render.image_settings.color_mode = "RGB"
    scene.render.image_settings.exr_codec = "ZIP"
    scene.render.use_persistent_data = False
    if threads:
        scene.render.threads_mode, scene.render.threads = "FIXED", threads


def main() -> None:
    name, textures, out = sys.argv[1:4]
    percent = float(sys.argv[4]) if len(sys.argv) > 4 else 100.0
    samples = int(sys.argv[5]) if len(sys.argv) > 5 else 14
    threshold = float(sys.argv[6]) if len(sys.argv) > 6 else 0.03
    shot = SHOTS[name]
    begun = time.time()
    bpy.ops.wm.read_factory_settings(use_empty=True)
    w = Workshop(Path(textures))
    b.build_instrument(w, shot.after)
    f = bench(w, shot)
    room(w, shot)
    pad(w, shot)
    cards(w, shot)
    props(w, shot, f)
    lamps(shot)
    camera(shot, percent)
    settings(samples, threshold, shot.seed)
    if len(sys.argv) > 7:
        x0, y0, x1, y1 = (float(v) for v in sys.argv[7].split(","))
        r = bpy.context.scene.render
        r.use_border = r.use_crop_to_border = True
        r.border_min_x, r.border_max_x, r.border_min_y, r.border_max_y = x0, x1, 1 - y1, 1 - y0
    print(f"built in {time.time() - begun:.1f} s", flush=True)
    bpy.context.scene.render.filepath = str(Path(out).resolve())
    bpy.ops.render.render(write_still=True)
    print(f"{name} {time.time() - begun:.1f} s", flush=True)


if __name__ == "__main__":
    main()
