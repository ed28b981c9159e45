"""Builds the instrument, the bench and the odds and ends as a Blender scene (1 unit = 100 mm)."""

from collections.abc import Callable, Sequence
from pathlib import Path

import bpy
import geometry as g
import numpy as np
from mathutils import Matrix, Vector
from mathutils.geometry import delaunay_2d_cdt
from paint import HEIGHT_RANGE, lin

UNIT = 0.01
Array = np.ndarray
Rgb = Sequence[float]
Material = bpy.types.Material


class Workshop:
    """Materials and mesh builders that share one texture folder."""

    def __init__(self, textures: Path) -> None:
        self.textures = textures
        self.made: dict[str, Material] = {}

    # materials -------------------------------------------------------------------------------------------------
    def material(self, name: str, make: Callable[[Material], None]) -> Material:
        if name not in self.made:
            m = bpy.data.materials.new(name)
            m.use_nodes = True
            make(m)
            self.made[name] = m
        return self.made[name]

    def plain(
        self,
        name: str,
        colour: Rgb,
        rough: float = 0.5,
        metal: float = 0.0,
        coat: float = 0.0,
        mottle: float = 0.0,
        grain: tuple[float, float, float] | None = None,
        dark: Rgb | None = None,
        bump: float = 0.0,
    ) -> Material:
        """One colour, or (with `grain`, bumps a unit in x, y, z) a streaky mix of it and `dark`."""

        def make(m: Material) -> None:
            t = m.node_tree
            p = t.nodes["Principled BSDF"]
            p.inputs["Base Color"].default_value = (*colour, 1)
            p.inputs["Roughness"].default_value = rough
            p.inputs["Metallic"].default_value = metal
            p.inputs["Coat Weight"].default_value = coat
            p.inputs["Coat Roughness"].default_value = 0.12
            if grain or mottle:
                coordinate = t.nodes.new("ShaderNodeTexCoord")
                mapping = t.nodes.new("ShaderNodeMapping")
                noise = t.nodes.new("ShaderNodeTexNoise")
                ramp = t.nodes.new("ShaderNodeValToRGB")
                mapping.inputs["Scale"].default_value = grain or (25, 25, 25)
                noise.inputs["Scale"].default_value = 1.0
                noise.inputs["Detail"].default_value = 6.0
                noise.inputs["Roughness"].default_value = 0.65
                low = dark if dark is not None else [c * (1 - mottle) for c in colour]
                ramp.color_ramp.elements[0].position, ramp.color_ramp.elements[1].position = 0.32, 0.68
                ramp.color_ramp.elements[0].color = (*low, 1)
                ramp.color_ramp.elements[1].color = (*colour, 1)
                t.links.new(coordinate.outputs["Object"], mapping.inputs["Vector"])
                t.links.new(mapping.outputs["Vector"], noise.inputs["Vector"])
                t.links.new(noise.outputs["Fac"], ramp.inputs["Fac"])
                t.links.new(ramp.outputs["Color"], p.inputs["Base Color"])
                if bump:
                    b = t.nodes.new("ShaderNodeBump")
                    b.inputs["Distance"].default_value = bump * UNIT
                    t.links.new(noise.outputs["Fac"], b.inputs["Height"])
                    t.links.new(b.outputs["Normal"], p.inputs["Normal"])

        return self.material(name, make)

    def image(self, t: bpy.types.NodeTree, file: str, data: bool) -> bpy.types.Node:
        node = t.nodes.new("ShaderNodeTexImage")
        node.image = bpy.data.images.load(str(self.textures / file), check_existing=True)
        node.image.colorspace_settings.name = "Non-Color" if data else "sRGB"
        node.interpolation = "Linear"
        return node

    def painted(self, name: str, strength: float = 1.0) -> Material:
        """A surface painted by paint.py: colour, height, roughness and lacquer."""

        def make(m: Material) -> None:
            t = m.node_tree
            p = t.nodes["Principled BSDF"]
            colour, data = self.image(t, f"{name}.png", False), self.image(t, f"{name}_data.png", True)
            split = t.nodes.new("ShaderNodeSeparateColor")
            bump = t.nodes.new("ShaderNodeBump")
            bump.inputs["Distance"].default_value = HEIGHT_RANGE * UNIT * strength
            t.links.new(colour.outputs["Color"], p.inputs["Base Color"])
            t.links.new(data.outputs["Color"], split.inputs["Color"])
            t.links.new(split.outputs["Red"], bump.inputs["Height"])
            t.links.new(split.outputs["Green"], p.inputs["Roughness"])
            weight = t.nodes.new("ShaderNodeMath")
            weight.operation = "MULTIPLY"
            weight.inputs[1].default_value = 0.75
            t.links.new(split.outputs["Blue"], weight.inputs[0])
            t.links.new(weight.outputs["Value"], p.inputs["Coat Weight"])
            t.links.new(bump.outputs["Normal"], p.inputs["Normal"])
            t.links.new(bump.outputs["Normal"], p.inputs["Coat Normal"])
            p.inputs["Coat Roughness"].default_value = 0.11
            p.inputs["Specular IOR Level"].default_value = 0.3

        return self.material(name, make)

    def paper(self, number: int) -> Material:
        def make(m: Material) -> None:
            t = m.node_tree
            p = t.nodes["Principled BSDF"]
            t.links.new(self.image(t, f"card_{number}.png", False).outputs["Color"], p.inputs["Base Color"])
            p.inputs["Roughness"].default_value = 0.9
            p.inputs["Specular IOR Level"].default_value = 0.12

        return self.material(f"card {number}", make)

    def canvas(self) -> Material:
        def make(m: Material) -> None:
            t = m.node_tree
            p = t.nodes["Principled BSDF"]
            bump = t.nodes.new("ShaderNodeBump")
            bump.inputs["Distance"].default_value = 0.7 * UNIT
            t.links.new(self.image(t, "cloth.png", False).outputs["Color"], p.inputs["Base Color"])
            t.links.new(self.image(t, "cloth_height.png", True).outputs["Color"], bump.inputs["Height"])
            place_of, folds, soft = (
                t.nodes.new(n) for n in ("ShaderNodeTexCoord", "ShaderNodeTexNoise", "ShaderNodeBump")
            )
            folds.inputs["Scale"].default_value, folds.inputs["Detail"].default_value = 0.55, 2.5
            folds.inputs["Distortion"].default_value = 1.2
            soft.inputs["Distance"].default_value = 30 * UNIT
            t.links.new(place_of.outputs["Object"], folds.inputs["Vector"])
            t.links.new(folds.outputs["Fac"], soft.inputs["Height"])
            t.links.new(soft.outputs["Normal"], bump.inputs["Normal"])
            t.links.new(bump.outputs["Normal"], p.inputs["Normal"])
            p.inputs["Roughness"].default_value = 0.95
            p.inputs["Specular IOR Level"].default_value = 0.1
            p.inputs["Sheen Weight"].default_value = 0.15

        return self.material("canvas", make)

    # meshes ----------------------------------------------------------------------------------------------------
    def mesh(
        self,
        name: str,
        verts: Array,
        faces: Sequence[Sequence[int]],
        material: Material,
        uv: Array | None = None,
        sharp: float = 35.0,
        frame: g.Frame | None = None,
    ) -> bpy.types.Object:
        """Mesh from mm; with `frame` the object keeps local coordinates (its grain) in that frame."""
        data = bpy.data.meshes.new(name)
        data.from_pydata((np.asarray(verts, float) * UNIT).tolist(), [], [list(map(int, f)) for f in faces])
        if uv is not None:
            layer = data.uv_layers.new(name="uv")
            index = np.empty(len(data.loops), np.int32)
            data.loops.foreach_get("vertex_index", index)
            layer.data.foreach_set("uv", np.asarray(uv, np.float32)[index].ravel())
        data.materials.append(material)
        data.polygons.foreach_set("use_smooth", np.ones(len(data.polygons), bool))
        data.update()
        data.set_sharp_from_angle(angle=np.radians(sharp))
        thing = bpy.data.objects.new(name, data)
        bpy.context.collection.objects.link(thing)
        if frame is not None:
            place(thing, frame)
        return thing

    def prism(
        self,
        name: str,
        ring: Array,
        low: float,
        high: float,
        material: Material,
        bevel: float = 0.0,
        frame: g.Frame | None = None,
        uv_box: tuple[float, float, float, float] | None = None,
        segments: int = 3,
    ) -> bpy.types.Object:
        ring = np.asarray(ring, float)
        if signed_area(ring) < 0:
            ring = ring[::-1]
        n = len(ring)
        verts = np.vstack([np.c_[ring, np.full(n, low)], np.c_[ring, np.full(n, high)]])
        faces = [list(range(n))[::-1], list(range(n, 2 * n))]
        faces += [[i, (i + 1) % n, n + (i + 1) % n, n + i] for i in range(n)]
        uv = None
        if uv_box:
            x0, x1, y0, y1 = uv_box
            uv = np.c_[(verts[:, 0] - x0) / (x1 - x0), (verts[:, 1] - y0) / (y1 - y0)]
        thing = self.mesh(name, verts, faces, material, uv, frame=frame)
        if bevel:
            add_bevel(thing, bevel, segments)
        return thing

    def box(
        self,
        name: str,
        size: tuple[float, float, float],
        frame: g.Frame,
        material: Material,
        bevel: float = 0.4,
        turn: float = 0.0,
    ) -> bpy.types.Object:
        """A block standing on the frame's plane at its origin."""
        w, h, d = size
        ring = rotate(np.array([(-w / 2, -h / 2), (w / 2, -h / 2), (w / 2, h / 2), (-w / 2, h / 2)]), turn)
        return self.prism(name, ring, 0.0, d, material, bevel, frame)

    def lathe(
        self,
        name: str,
        profile: Sequence[tuple[float, float]],
        frame: g.Frame,
        material: Material,
        count: int = 56,
        sharp: float = 30.0,
    ) -> bpy.types.Object:
        """Turned part: (radius, height) pairs round the frame's normal."""
        t = np.linspace(0, 2 * np.pi, count, endpoint=False)
        verts = np.vstack([np.c_[r * np.cos(t), r * np.sin(t), np.full(count, h)] for r, h in profile])
        faces = []
        for k in range(len(profile) - 1):
            for i in range(count):
                j = (i + 1) % count
                faces.append([k * count + i, k * count + j, (k + 1) * count + j, (k + 1) * count + i])
        return self.mesh(name, verts, faces, material, sharp=sharp, frame=frame)

    def tube(self, name: str, points: Array, radius: float, material: Material, smooth: bool = False) -> None:
        curve = bpy.data.curves.new(name, "CURVE")
        curve.dimensions = "3D"
        curve.bevel_depth = radius * UNIT
        curve.bevel_resolution = 5
        spline = curve.splines.new("NURBS" if smooth else "POLY")
        spline.points.add(len(points) - 1)
        for p, q in zip(spline.points, points, strict=True):
            p.co = (*(np.asarray(q, float) * UNIT), 1)
        if smooth:
            spline.order_u = 4
            spline.use_endpoint_u = True
            curve.resolution_u = 16
        curve.materials.append(material)
        bpy.context.collection.objects.link(bpy.data.objects.new(name, curve))

    def screw(
        self,
        frame: g.Frame,
        diameter: float,
        material: Material,
        cross: bool = False,
        turn: float = 0.0,
        dome: float = 0.28,
    ) -> None:
        """A wood screw's head on the plane of `frame`: a dome with a milled slot or a cross recess."""
        key = f"screw {diameter} {cross} {material.name} {dome}"
        data = bpy.data.meshes.get(key)
        if data is None:
            n = 73
            axis = np.linspace(-1, 1, n) * diameter / 2
            gx, gy = np.meshgrid(axis, axis)
            r = np.hypot(gx, gy) / (diameter / 2)
            squeeze = np.where(r > 1, 1 / np.maximum(r, 1e-6), 1)
            gx, gy = gx * squeeze, gy * squeeze
            r = np.minimum(r, 1)
            h = 0.35 + dome * diameter * (np.sqrt(np.clip(1.25 - r**2, 0, None)) - 0.5)
            slot, deep = 0.085 * diameter, 0.20 * diameter
            if cross:
                arm = ((np.abs(gx) < slot) & (np.abs(gy) < 0.29 * diameter)) | (
                    (np.abs(gy) < slot) & (np.abs(gx) < 0.29 * diameter)
                )
            else:
                arm = np.abs(gy) < slot
            h = np.where(arm, np.minimum(h - deep * (1 - 0.5 * r if cross else 1), h.max() - deep), h)
            h = np.where(r >= 0.999, -0.2, h)
            verts = np.c_[gx.ravel(), gy.ravel(), h.ravel()]
            faces = [
                [a * n + b, a * n + b + 1, (a + 1) * n + b + 1, (a + 1) * n + b]
                for a in range(n - 1)
                for b in range(n - 1)
            ]
            thing = self.mesh(key, verts, faces, material, sharp=40)
            thing.data.name = key
        else:
            thing = bpy.data.objects.new(key, data)
            bpy.context.collection.objects.link(thing)
        a = np.radians(turn)
        place(
            thing,
            g.Frame(
                frame.origin,
                np.cos(a) * frame.right + np.sin(a) * frame.up,
                -np.sin(a) * frame.right + np.cos(a) * frame.up,
            ),
        )


def signed_area(ring: Array) -> float:
    x, y = ring.T
    return float((x * np.roll(y, -1) - y * np.roll(x, -1)).sum() / 2)


def rotate(ring: Array, degrees: float) -> Array:
    a = np.radians(degrees)
    return ring @ np.array([[np.cos(a), np.sin(a)], [-np.sin(a), np.cos(a)]])


def moved(frame: g.Frame, x: float, y: float, h: float = 0.0) -> g.Frame:
    return g.Frame(frame.at(x, y, h), frame.right, frame.up)


def turned(frame: g.Frame, degrees: float) -> g.Frame:
    a = np.radians(degrees)
    return g.Frame(
        frame.origin, np.cos(a) * frame.right + np.sin(a) * frame.up, -np.sin(a) * frame.right + np.cos(a) * frame.up
    )


def place(thing: bpy.types.Object, f: g.Frame) -> None:
    m = np.eye(4)
    m[:3, 0], m[:3, 1], m[:3, 2], m[:3, 3] = f.right, f.up, f.normal, f.origin * UNIT
    thing.matrix_world = Matrix(m.tolist())


def add_bevel(thing: bpy.types.Object, width: float, segments: int = 3) -> None:
    b = thing.modifiers.new("bevel", "BEVEL")
    b.width = width * UNIT
    b.segments = segments
    b.limit_method = "ANGLE"
    b.angle_limit = np.radians(35)
    b.harden_normals = True


def cut_sheet(outer: Array, holes: Sequence[Array]) -> tuple[Array, list[list[int]]]:
    """Triangles of a flat region with holes."""
    points, edges, start = [], [], 0
    for ring in (outer, *holes):
        n = len(ring)
        points += [Vector(p) for p in np.asarray(ring) * UNIT]
        edges += [(start + i, start + (i + 1) % n) for i in range(n)]
        start += n
    verts, _, faces, *_ = delaunay_2d_cdt(points, edges, [], 2, 1e-7)
    verts = np.array([v[:] for v in verts]) / UNIT
    kept = []
    for f in faces:
        middle = verts[f].mean(0)
        if inside(outer, middle) and not any(inside(h, middle) for h in holes):
            kept.append(list(f))
    return verts, kept


def inside(ring: Array, p: Array) -> bool:
    x, y = np.asarray(ring).T
    x2, y2 = np.roll(x, -1), np.roll(y, -1)
    with np.errstate(divide="ignore", invalid="ignore"):
        crossing = ((y > p[1]) != (y2 > p[1])) & (p[0] < (x2 - x) * (p[1] - y) / (y2 - y) + x)
    return bool(crossing.sum() % 2)


# the instrument --------------------------------------------------------------------------------------------------
CREAM = lin("dcc088") * np.array([1.0, 0.97, 0.9])


def wall(
    w: Workshop, name: str, ring: Array, top: float, bottom: float, material: Material, floor: bool = True
) -> None:
    """The wall of a bore that goes into the plane z = top, closed at the bottom."""
    n = len(ring)
    verts = np.vstack([np.c_[ring, np.full(n, top)], np.c_[ring, np.full(n, bottom)]])
    faces = [[i, (i + 1) % n, n + (i + 1) % n, n + i] for i in range(n)]
    if floor:
        faces.append(list(range(n, 2 * n)))
    w.mesh(name, verts, faces, material)


def build_body(w: Workshop, after: bool) -> None:
    state = "after" if after else "before"
    outer = g.outline()
    face_ring = inset(outer, 0.7)
    dark = w.plain("dark wood", lin("3a281a"), 0.9)
    holes = [g.oval()] + ([] if after else [g.circle(*h, g.ARMREST_DIAMETER) for h in g.armrest_holes()])
    box = (-165.0, 165.0, -5.0, 395.0)

    def planar(v: Array) -> Array:
        return np.c_[(v[:, 0] - box[0]) / (box[1] - box[0]), (v[:, 1] - box[2]) / (box[3] - box[2])]

    flat, faces = cut_sheet(face_ring, holes)
    w.mesh("top", np.c_[flat, np.zeros(len(flat))], faces, w.painted(f"top_{state}"), planar(flat))
    for ring in holes[1:]:
        wall(w, "armrest bore", ring, 0.0, -9.0, w.plain("bore", lin("4a2f1a"), 0.9))
    wall(w, "sound hole", holes[0], 0.0, -3.2, w.plain("spruce edge", lin("8a5c31"), 0.7), floor=False)

    flat, faces = cut_sheet(face_ring, [])
    w.mesh("back", np.c_[flat, np.full(len(flat), g.BACK_Z)], [f[::-1] for f in faces], w.painted("back"), planar(flat))
    inner = inset(outer, 3)
    flat, faces = cut_sheet(inner, [])
    w.mesh(
        "inside",
        np.c_[flat, np.full(len(flat), g.BACK_Z + 3)],
        faces,
        w.plain("inside wood", lin("a57a4c"), 0.8, grain=(60, 2, 1), dark=lin("7d5630")),
    )
    for y in (60, 170, 262):
        w.box("brace", (250, 7, 9), moved(g.Frame(np.array([0, y, g.BACK_Z + 3.0]), g.X, g.Y), 0, 0), dark)
    w.box(
        "label",
        (64, 42, 0.3),
        g.Frame(np.array([4.0, 214.0, g.BACK_Z + 3.0]), g.X, g.Y),
        w.plain("old paper", lin("a98f62"), 0.9, mottle=0.35),
        0.0,
        4,
    )

    n = len(outer)
    length = np.r_[0, np.cumsum(np.hypot(*np.diff(np.vstack([outer, outer[:1]]), axis=0).T))]
    s = length[:-1].copy()
    s[s > length[-1] / 2] -= length[-1]
    cream = w.plain("binding", CREAM, 0.35, coat=0.5, mottle=0.06)
    levels = []
    for k in range(7):
        a = np.pi / 2 * k / 6
        levels.append((0.7 * (1 - np.sin(a)), -0.7 * (1 - np.cos(a))))
    rim = [np.c_[inset(outer, d) if d > 1e-9 else outer, np.full(n, z)] for d, z in levels]
    faces = [
        [k * n + i, k * n + (i + 1) % n, (k + 1) * n + (i + 1) % n, (k + 1) * n + i] for k in range(6) for i in range(n)
    ]
    w.mesh("top rim", np.vstack(rim), [f[::-1] for f in faces], cream, sharp=60)
    low = [np.c_[r[:, :2], g.BACK_Z - r[:, 2]] for r in rim]
    w.mesh("back rim", np.vstack(low), faces, cream, sharp=60)

    ribs = w.painted(f"side_{state}")
    is_tail = (np.abs(outer[:, 0]) < 49) & (outer[:, 1] < 1)
    verts = np.vstack([np.c_[outer, np.full(n, -0.7)], np.c_[outer, np.full(n, g.BACK_Z + 0.7)]])
    quads = [[i, n + i, n + (i + 1) % n, (i + 1) % n] for i in range(n) if not (is_tail[i] and is_tail[(i + 1) % n])]
    sv = np.r_[s, s]
    uv = np.c_[(sv + 582) / 1164, (verts[:, 2] + 76) / 78]
    half = int(np.argmax(s))
    quads = [q for q in quads if q[0] != half]
    w.mesh("ribs", verts, [q[::-1] for q in quads], ribs, uv)
    reach = np.abs(outer[is_tail, 0]).max()
    panel = np.array([(-reach, g.BACK_Z + 0.7), (reach, g.BACK_Z + 0.7), (reach, -0.7), (-reach, -0.7)])
    bore = g.BUSHING_BORE if after else g.END_PIN_DIAMETER
    ring = g.circle(0, g.PIN_Z, bore, 128)
    flat, faces = cut_sheet(panel, [ring])
    uv = np.c_[(flat[:, 0] + 582) / 1164, (flat[:, 1] + 76) / 78]
    w.mesh("tail rib", np.c_[flat[:, 0], np.zeros(len(flat)), flat[:, 1]], faces, ribs, uv)
    n2 = len(ring)
    inner_wood = (
        w.plain("bushing", lin("22110a"), 0.45)
        if after
        else w.plain("pin bore", lin("80583a"), 0.85, grain=(30, 30, 4), dark=lin("5a3a22"))
    )
    steps = [0.0, 1.0, 2.0, 4.0, 8.0, 26.0]
    verts = np.vstack([np.c_[ring[:, 0], np.full(n2, d), ring[:, 1]] for d in steps])
    faces = [
        [k * n2 + i, k * n2 + (i + 1) % n2, (k + 1) * n2 + (i + 1) % n2, (k + 1) * n2 + i]
        for k in range(len(steps) - 1)
        for i in range(n2)
    ]
    w.mesh("pin bore", verts, faces, inner_wood)
    w.mesh(
        "pin bore end",
        np.c_[ring[:, 0], np.full(n2, 26.0), ring[:, 1]],
        [list(range(n2))],
        w.plain("black", (0.004,) * 3, 1.0),
    )


def inset(ring: Array, distance: float) -> Array:
    """The ring moved inward along its own normals, point by point."""
    along = np.roll(ring, -1, 0) - np.roll(ring, 1, 0)
    along /= np.linalg.norm(along, axis=1, keepdims=True)
    return ring + distance * np.c_[-along[:, 1], along[:, 0]]


def build_bridge(w: Workshop, after: bool) -> None:
    rosewood = w.plain("rosewood", lin("5a3322"), 0.42, grain=(1.2, 26, 26), dark=lin("24130c"), coat=0.15, bump=0.05)
    x = np.r_[-g.BRIDGE_HALF, np.linspace(-g.BRIDGE_HALF + 0.6, g.BRIDGE_HALF - 0.6, 240), g.BRIDGE_HALF]
    yc, hd = (g.BRIDGE_REAR_Y + g.BRIDGE_FRONT_Y) / 2, (g.BRIDGE_FRONT_Y - g.BRIDGE_REAR_Y) / 2
    end = np.clip((g.BRIDGE_HALF - np.abs(x)) / 12, 0, 1)
    half = hd * (0.55 + 0.45 * np.sqrt(1 - (1 - end) ** 2))
    belly = np.clip((g.BRIDGE_HALF - np.abs(x)) / 34, 0, 1)
    top = 3.6 + 5.2 * (belly**2 * (3 - 2 * belly))
    x0, x1 = g.LIFT_X
    t = np.clip((x - x0) / (x1 - x0), 0, 1)
    lift = np.zeros_like(x) if after else 1.15 * np.sqrt(np.clip(np.sin(np.pi * t), 0, 1))
    rows = []
    flat_rear = np.abs(x) < g.BRIDGE_HALF - 12.5
    rear = np.where(flat_rear, g.BRIDGE_REAR_Y, yc - half)
    front = yc + half
    for i in range(len(x)):
        a, b, h, u = rear[i], front[i], top[i], lift[i]
        profile = [
            (a + 9, 0.0),
            (a, u),
            (a, h * 0.55 + u * 0.4),
            (a + 0.8, h * 0.8 + u * 0.4),
            (a + 2.4, h + 0.2 * u),
            (a + 0.5 * (b - a), h + 0.25),
            (b - 2.4, h),
            (b - 0.8, h * 0.8),
            (b, h * 0.55),
            (b, 0.0),
        ]
        rows.append([(x[i], p, q) for p, q in profile])
    m = len(rows[0])
    verts = np.array(rows).reshape(-1, 3)
    faces = [
        [i * m + k, i * m + (k + 1) % m, (i + 1) * m + (k + 1) % m, (i + 1) * m + k]
        for i in range(len(x) - 1)
        for k in range(m)
    ]
    faces += [list(range(m))[::-1], [(len(x) - 1) * m + k for k in range(m)]]
    w.mesh("bridge", verts, [f[::-1] for f in faces], rosewood, sharp=50)
    bone = w.plain("bone", lin("e5d6b4"), 0.35, coat=0.3, mottle=0.1)
    w.prism("saddle", [(-34, 123.6), (34, 123.6), (34, 126.4), (-34, 126.4)], 5, 13.6, bone, 0.9)
    ivory = w.plain("pin ivory", lin("d9c9a2"), 0.3, coat=0.4, mottle=0.1)
    pearl = w.plain("pearl", lin("d8dde0"), 0.2, coat=0.6, mottle=0.25)
    for sx in string_x(42.0, 3.0):
        for_one = g.Frame(np.array([sx, 110.0, 8.6]), g.X, g.Y)
        w.lathe(
            "pin",
            [(0, 4.2), (1.2, 4.1), (2.0, 3.6), (2.35, 2.7), (2.3, 1.8), (1.7, 1.2), (1.5, 0.5), (1.5, -2)],
            for_one,
            ivory,
        )
        w.lathe("pin dot", [(0, 4.32), (0.8, 4.26), (0.85, 4.1)], for_one, pearl)


def string_x(spread: float, pair: float) -> list[float]:
    centres = np.linspace(-(spread - pair) / 2, (spread - pair) / 2, 4)
    return [float(c + d * pair / 2) for c in centres for d in (-1, 1)]


def build_strings(w: Workshop, after: bool) -> None:
    wound = w.plain(
        "wound new" if after else "wound",
        lin("b9824a" if after else "7d5c3c"),
        0.33,
        1.0,
        grain=(2, 420, 2),
        dark=lin("7b4f26" if after else "3d2c1e"),
    )
    steel = w.plain("steel new" if after else "steel", lin("c9c9c9" if after else "97928a"), 0.28, 1.0)
    radii = [0.62, 0.62, 0.44, 0.44, 0.29, 0.29, 0.2, 0.2]
    nut, mid, tail = string_x(28.0, 2.4), string_x(42.0, 3.0), string_x(42.0, 3.0)
    posts = tuner_stations()
    order = [(-1, 0), (-1, 1), (-1, 2), (-1, 3), (1, 3), (1, 2), (1, 1), (1, 0)]
    for k, radius in enumerate(radii):
        side, station = order[k]
        post = head_point(side * 24.5, posts[station], 7.0)
        points = [
            post,
            (nut[k], g.NUT_Y + 2, 8.3),
            (nut[k], g.NUT_Y, 8.4),
            (mid[k], g.SADDLE_Y + 1.0, 13.75 + radius),
            (mid[k], g.SADDLE_Y - 1.0, 13.6 + radius),
            (tail[k], 112.2, 9.2),
        ]
        w.tube("string", np.array(points), radius, wound if k < 4 else steel)


def build_neck(w: Workshop) -> None:
    mahogany = w.plain("mahogany", lin("8a4a26"), 0.35, grain=(18, 0.8, 18), dark=lin("4c2412"), coat=0.5)
    ys = np.r_[np.linspace(g.NUT_Y + 4, 440, 40), np.linspace(438, g.BODY_LENGTH - 1.5, 34)]
    rows, m = [], 33
    for y in ys:
        a = 17.4 + (g.NUT_Y - y) / (g.NUT_Y - 390) * 4.8
        k = np.clip((438 - y) / 48, 0, 1)
        depth = 19.0 + 3.0 * (g.NUT_Y - y) / 265 + (46 * k**2.6)
        t = np.linspace(0, np.pi, m)
        power = 0.85 - 0.25 * k
        shape = np.sign(np.cos(t)) * np.abs(np.cos(t)) ** power
        narrow = 1 - 0.38 * k * np.sin(t) ** 2
        rows.append(np.c_[a * shape * narrow, np.full(m, y), -depth * np.sin(t) ** (0.9 - 0.2 * k)])
    verts = np.vstack(rows)
    faces = [
        [i * m + k, i * m + k + 1, (i + 1) * m + k + 1, (i + 1) * m + k]
        for i in range(len(ys) - 1)
        for k in range(m - 1)
    ]
    faces += [[i * m, (i + 1) * m, (i + 1) * m + m - 1, i * m + m - 1] for i in range(len(ys) - 1)]
    w.mesh("neck", verts, faces, mahogany, sharp=60)

    ebony = w.plain("fingerboard", lin("3a231a"), 0.4, grain=(20, 0.9, 20), dark=lin("150c08"), coat=0.1)

    def half(y: float) -> float:
        return 17.0 + (g.NUT_Y - y) / g.SCALE_LENGTH * 9.2

    e0, e1 = g.BOARD_END_Y, g.NUT_Y
    w.prism(
        "fingerboard",
        [(-half(e0) + 1.5, e0), (half(e0) - 1.5, e0), (half(e1) - 1.5, e1), (-half(e1) + 1.5, e1)],
        0.01,
        6.0,
        ebony,
        0.5,
    )
    cream = w.plain("binding", CREAM, 0.35, coat=0.5, mottle=0.06)
    for q in (-1, 1):
        w.prism(
            "board binding",
            [(q * half(e0), e0), (q * (half(e0) - 1.5), e0), (q * (half(e1) - 1.5), e1), (q * half(e1), e1)],
            0.01,
            5.95,
            cream,
            0.35,
        )
    nickel = w.plain("fret", lin("b9b3a4"), 0.22, 1.0)
    pearl = w.plain("pearl", lin("d8dde0"), 0.2, coat=0.6, mottle=0.25)
    pos = [g.NUT_Y - g.SCALE_LENGTH * (1 - 2 ** (-k / 12)) for k in range(22)]
    for k in range(1, 20):
        y = pos[k]
        h = half(y) - 0.3
        t = np.linspace(0, np.pi, 9)
        prof = [(1.05 * np.cos(v), 1.0 * np.sin(v)) for v in t]
        verts = [
            (q * (h - 0.7 * np.sin(v) * 1.0), y + a, 6.0 + b)
            for q in (-1, 1)
            for v, (a, b) in zip(t, prof, strict=True)
        ]
        faces = [[i, i + 1, 9 + i + 1, 9 + i] for i in range(8)]
        faces += [list(range(9)), list(range(9, 18))[::-1]]
        w.mesh("fret", np.array(verts), faces, nickel, sharp=60)
    for k in (3, 5, 7, 10, 12, 15, 17):
        y = (pos[k] + pos[k - 1]) / 2
        for x in (-7, 7) if k == 12 else (0,):
            w.lathe("dot", [(0, 6.03), (2.9, 6.03), (3.0, 5.9)], g.Frame(np.array([x, y, 0.0]), g.X, g.Y), pearl)
    w.prism(
        "nut",
        [(-17, g.NUT_Y), (17, g.NUT_Y), (17, g.NUT_Y + 4.5), (-17, g.NUT_Y + 4.5)],
        -2,
        8.2,
        w.plain("bone", lin("e5d6b4"), 0.35, coat=0.3, mottle=0.1),
        0.7,
    )


# the headstock ---------------------------------------------------------------------------------------------------
def head_point(v: float, u: float, front: float) -> Array:
    """Point at v across (right as seen from the front), u along, `front` mm before the front face."""
    return g.HEAD_ORIGIN + v * g.X + u * g.HEAD_U + front * g.HEAD_N


def tuner_stations() -> list[float]:
    return [46.0, 77.0, 108.0, 139.0]


def build_volute(w: Workshop, front: g.Frame) -> None:
    """The neck's end running out into the headstock's back."""
    us, m, rows = np.linspace(-3.0, 30.0, 30), 33, []
    for u in us:
        k = np.clip((u + 1) / 30, 0, 1)
        t = np.linspace(0, np.pi, m)
        shape = np.sign(np.cos(t)) * np.abs(np.cos(t)) ** 0.85
        depth = 19.6 + 0.9 * np.exp(-(((u - 5) / 6) ** 2)) - 6.6 * k**1.4
        rows.append(
            np.c_[
                (17.4 + 1.5 * k) * shape * (1 - 0.3 * k * np.sin(t)),
                np.full(m, u),
                -1.0 - (depth - 1.0) * np.sin(t) ** 0.9,
            ]
        )
    faces = [
        [i * m + k, i * m + k + 1, (i + 1) * m + k + 1, (i + 1) * m + k]
        for i in range(len(us) - 1)
        for k in range(m - 1)
    ]
    w.mesh("volute", np.vstack(rows), faces, w.plain("mahogany", lin("8a4a26")), sharp=60, frame=front)


def build_head(w: Workshop, after: bool) -> None:
    front = g.Frame(g.HEAD_ORIGIN, g.X, g.HEAD_U)
    build_volute(w, front)
    w.prism("headstock", g.head_outline(), -g.HEAD_THICK, 0.0, w.painted("head"), 1.3, front, (-45, 45, -12, 178), 4)
    brass = w.plain("plate", lin("bd9c5e"), 0.3, 1.0, mottle=0.3, bump=0.03)
    gear_metal = w.plain("gear", lin("b89a58"), 0.3, 1.0, mottle=0.4)
    nickel = w.plain("worn nickel", lin("a9a498"), 0.27, 1.0, mottle=0.3)
    old_steel = w.plain("screw steel", lin("8e8473"), 0.36, 1.0, mottle=0.45)
    yellow = w.plain("new brass screw", lin("d9b04f"), 0.22, 1.0)
    cream = w.plain("button", lin("dfcb9c"), 0.25, coat=0.6, mottle=0.12)
    back = g.HEAD_BACK
    rng = np.random.default_rng(3)
    for q in (-1, 1):
        cx = q * 26.5
        ring = np.array([(-7, 31.5), (7, 31.5), (7, 152), (-7, 152)])
        corner = rounded(ring, 2.0)
        w.prism("plate", corner + np.array([cx, 0.0]), 0.0, 1.1, brass, 0.25, back)
        for k, u in enumerate(tuner_stations()):
            jitter = rng.normal(0, 0.15)
            hub = moved(back, cx - q * 0.5, u, 1.1)
            teeth = gear_ring(6.3, 5.2, 16, rng.uniform(0, 20))
            w.prism("gear", teeth, 1.0, 4.0, gear_metal, 0.22, hub, segments=2)
            w.lathe("gear washer", [(0, 4.5), (2.9, 4.5), (3.1, 4.2), (3.1, 3.9)], hub, nickel)
            w.screw(moved(hub, 0, 0, 4.3), 4.6, old_steel, turn=float(rng.uniform(0, 180)), dome=0.2)
            shaft = g.Frame(back.at(cx, u + 8.6 + jitter * 0.2, 4.0), back.up, back.normal)
            axis = q
            s = g.Frame(shaft.origin, back.up, axis * np.cross(back.right, back.up) * 1.0)
            s = g.Frame(shaft.origin, back.up, np.cross(axis * back.right, back.up))
            worm(w, s, gear_metal)
            w.lathe("shaft", [(0, -7.2), (1.6, -7.2), (1.6, 21.5), (1.2, 22.5), (0, 22.5)], s, nickel, 32)
            for along in (-5.6, 5.2):
                w.box("lug", (1.5, 5.6, 7.0), moved(back, cx + q * along, u + 8.6, 1.0), brass, 0.5)
            w.lathe("collar", [(1.6, 12.3), (2.7, 12.5), (2.9, 13.2), (2.7, 13.9), (1.6, 14.1)], s, nickel, 32)
            turn = float(rng.uniform(-65, 65)) if not after else float(rng.uniform(-65, 65)) + 25
            button(w, g.Frame(s.at(0, 0, 17.0), *spin(s, turn)), cream)
            w.lathe(
                "post",
                [(0, 13.2), (2.6, 13.2), (3.0, 12.6), (3.0, 9), (2.3, 7.5), (2.3, 5), (3.0, 4), (3.0, 0)],
                g.Frame(head_point(-q * 26, u, 0), g.X, g.HEAD_U),
                nickel,
                32,
            )
            w.lathe(
                "post washer",
                [(3.0, 0.9), (5.0, 0.8), (5.4, 0)],
                g.Frame(head_point(-q * 26, u, 0), g.X, g.HEAD_U),
                nickel,
                32,
            )
            if k < 3:
                odd = after and q == 1 and k == 1
                w.screw(
                    moved(back, cx + q * 0.2, u + 19.5, 1.05),
                    4.6,
                    yellow if odd else old_steel,
                    odd,
                    float(rng.uniform(0, 180)),
                )
        for u in (35.2, 150.0 - 1.0):
            w.screw(moved(back, cx - q * 2.0 * (u > 100), u, 1.05), 4.6, old_steel, turn=float(rng.uniform(0, 180)))


def rounded(ring: Array, radius: float) -> Array:
    out = []
    n = len(ring)
    for i in range(n):
        p, a, b = ring[i], ring[i - 1], ring[(i + 1) % n]
        da, db = (a - p) / np.linalg.norm(a - p), (b - p) / np.linalg.norm(b - p)
        c = p + radius * (da + db)
        for t in np.linspace(0, 1, 6):
            d = -(da * np.sin(t * np.pi / 2) + db * np.cos(t * np.pi / 2))
            out.append(c + radius * d)
        out[-6:] = out[-6:][::1]
    return np.array(out)


def gear_ring(outer: float, root: float, teeth: int, start: float) -> Array:
    points = []
    for k in range(teeth):
        a = 2 * np.pi * k / teeth + start
        for f, r in ((-0.30, root), (-0.13, outer), (0.13, outer), (0.30, root)):
            b = a + f * 2 * np.pi / teeth
            points.append((r * np.cos(b), r * np.sin(b)))
    return np.array(points)


def worm(w: Workshop, s: g.Frame, material: Material) -> None:
    hs, ts = np.linspace(-4.6, 4.3, 80), np.linspace(0, 2 * np.pi, 40, endpoint=False)
    verts = []
    for h in hs:
        r = 2.35 + 0.55 * np.clip(1.6 * np.cos(ts - 2 * np.pi * h / 1.75), -1, 1)
        verts.append(np.c_[r * np.cos(ts), r * np.sin(ts), np.full(40, h)])
    faces = [
        [k * 40 + i, k * 40 + (i + 1) % 40, (k + 1) * 40 + (i + 1) % 40, (k + 1) * 40 + i]
        for k in range(79)
        for i in range(40)
    ]
    w.mesh("worm", np.vstack(verts), faces, material, sharp=60, frame=s)


def spin(f: g.Frame, degrees: float) -> tuple[Array, Array]:
    a = np.radians(degrees)
    return np.cos(a) * f.right + np.sin(a) * f.up, -np.sin(a) * f.right + np.cos(a) * f.up


def button(w: Workshop, f: g.Frame, material: Material) -> None:
    """A kidney-ended bone button; the shaft runs along the frame's normal."""
    t, p = np.linspace(0, 2 * np.pi, 40, endpoint=False), np.linspace(0, np.pi, 22)
    verts = []
    for b in p:
        sx, sz = np.sin(b) ** 0.6, np.sign(np.cos(b)) * np.abs(np.cos(b)) ** 0.75
        wide = 8.0 * (0.86 - 0.22 * sz * -1)
        cx, cy = np.sign(np.cos(t)) * np.abs(np.cos(t)) ** 0.8, np.sign(np.sin(t)) * np.abs(np.sin(t)) ** 0.8
        verts.append(np.c_[wide * sx * cx, 3.3 * sx * cy, np.full(40, 8.5 - 8.5 * sz)])
    faces = [
        [k * 40 + i, k * 40 + (i + 1) % 40, (k + 1) * 40 + (i + 1) % 40, (k + 1) * 40 + i]
        for k in range(21)
        for i in range(40)
    ]
    w.mesh("button", np.vstack(verts), faces, material, sharp=80, frame=f)


# the added pickup ------------------------------------------------------------------------------------------------
def build_pickup(w: Workshop) -> None:
    black = w.plain("pickup case", lin("1b1a19"), 0.38, mottle=0.2)
    chrome = w.plain("worn nickel", lin("a9a498"), 0.27, 1.0, mottle=0.3)
    w.prism(
        "pickup", rounded(np.array([(-31, 276.6), (31, 276.6), (31, 288.4), (-31, 288.4)]), 2.2), 0.2, 8.2, black, 0.7
    )
    w.prism(
        "pickup strip",
        rounded(np.array([(-25, 279.6), (25, 279.6), (25, 285.4), (-25, 285.4)]), 0.8),
        8.0,
        8.7,
        chrome,
        0.2,
    )
    for x in (-28, 28):
        w.screw(g.Frame(np.array([x, 282.5, 8.0]), g.X, g.Y), 3.0, chrome, turn=30 + x, dome=0.2)
    w.tube("lead", g.lead_path(), 1.35, w.plain("lead", lin("252220"), 0.75, mottle=0.3), smooth=True)
    tape = w.plain("old tape", lin("b89a62"), 0.6, mottle=0.2)
    for x, y, a in ((-57.2, 226, 86), (20, 164.6, -4), (91.5, 128, -66)):
        strap(w, x, y, a, tape)
    tin = w.plain("cut brass", lin("cda662"), 0.36, 1.0, mottle=0.2, bump=0.02)
    ring = rotate(
        np.array([(-24, -16.5), (22.5, -18), (24.5, 15.0), (19, 18.2), (-22, 17.0), (-25, 12)]), 18
    ) + np.array([103.0, 71.0])
    w.prism("jack plate", ring, 0.02, 1.3, tin, 0.25)
    base = g.Frame(np.array([103.0, 71.0, 1.3]), g.X, g.Y)
    hexagon = np.array([(6.6 * np.cos(t), 6.6 * np.sin(t)) for t in np.linspace(0, 2 * np.pi, 6, endpoint=False) + 0.3])
    w.lathe("jack washer", [(5, 0), (8.4, 0), (8.6, 0.5), (8.3, 0.9), (5, 0.9)], base, chrome)
    w.prism("jack nut", hexagon, 0.8, 3.0, chrome, 0.35, base)
    w.lathe("jack", [(5.0, 2.5), (5.0, 5.0), (4.6, 5.4), (3.4, 5.4), (3.2, 5.0), (3.2, -4)], base, chrome)
    w.lathe("jack hole", [(0, -1), (3.2, -1)], base, w.plain("black", (0.004,) * 3, 1.0))
    mixed = (
        ("screw steel", 4.2, False),
        ("screw steel", 4.2, False),
        ("plate", 3.8, False),
        ("screw steel", 4.4, False),
    )
    steel = w.plain("screw steel", lin("8e8473"), 0.36, 1.0, mottle=0.45)
    other = w.plain("brass screw", lin("b08d48"), 0.3, 1.0)
    spots = rotate(np.array([(-20, -13), (19, -14), (19, 12.5), (-19, 12.5)]), 18) + np.array([103.0, 71.0])
    for (kind, size, cross), (x, y) in zip(mixed, spots, strict=True):
        w.screw(
            g.Frame(np.array([x, y, 1.2]), g.X, g.Y), size, steel if kind == "screw steel" else other, cross, turn=x * 7
        )


def strap(w: Workshop, x: float, y: float, angle: float, material: Material) -> None:
    """A strip of tape over the lead; `angle` is the lead's direction."""
    across = np.linspace(-9, 9, 31)
    over = 2.95 / (1 + (across / 2.3) ** 4) + 0.12
    wide = np.array([-4.2, 4.2])
    verts = np.array([(u, v, h) for u in wide for v, h in zip(across, over, strict=True)])
    verts[:, 0] += 0.25 * np.sin(verts[:, 1] * 3)
    a = np.radians(angle)
    x2 = verts[:, 0] * np.cos(a) - verts[:, 1] * np.sin(a) + x
    y2 = verts[:, 0] * np.sin(a) + verts[:, 1] * np.cos(a) + y
    faces = [[k, 31 + k, 31 + k + 1, k + 1] for k in range(30)]
    w.mesh("tape", np.c_[x2, y2, verts[:, 2]], faces, material, sharp=80)


def build_instrument(w: Workshop, after: bool) -> None:
    build_body(w, after)
    build_bridge(w, after)
    build_strings(w, after)
    build_neck(w)
    build_head(w, after)
    build_pickup(w)
