"""Fasteners at their standards' dimensions, in millimetres.

Each function gives a mesh, made once and shared by all that ask for the same size. Local +Z runs from shank to head;
z = 0 is the bearing face, from which the standards measure the length of these heads. Threads are plain shanks of the
nominal diameter with a chamfered end. Values marked (memory) were not seen in print.
"""
import math

import bmesh

from solids import LEFT, Solid, UP, belt, rectangle, to_blender

# ISO 4014/4017 = DIN 931/933 head height k; widths across flats of ISO 272:1982.
# Source: FreeCAD FastenersWB FsData, BOLTS data, cq_warehouse parameters, agreeing.
HEX_WIDTH = {4: 7, 5: 8, 6: 10, 8: 13, 10: 16, 12: 18, 14: 21, 16: 24}
HEX_HEIGHT = {4: 2.8, 5: 3.5, 6: 4, 8: 5.3, 10: 6.4, 12: 7.5, 14: 8.8, 16: 10}
# ISO 4032 nut height m max; same sources.
NUT_HEIGHT = {4: 3.2, 5: 4.7, 6: 5.2, 8: 6.8, 10: 8.4, 12: 10.8, 14: 12.8, 16: 14.8}
# EN 1665 heavy series: flats and flange diameter dc (FastenersWB, cq_warehouse); head height k, flange edge c (memory).
FLANGE_WIDTH = {5: 8, 6: 10, 8: 13, 10: 16, 12: 18, 14: 21, 16: 24}
FLANGE_DIAMETER = {5: 11.8, 6: 14.2, 8: 18.0, 10: 22.3, 12: 26.6, 14: 30.5, 16: 35.0}
FLANGE_HEIGHT = {5: 5.8, 6: 6.6, 8: 8.1, 10: 10.4, 12: 11.8, 14: 13.7, 16: 15.4}
FLANGE_EDGE = {5: 1.0, 6: 1.1, 8: 1.2, 10: 1.5, 12: 1.8, 14: 2.1, 16: 2.4}
# ISO 4161 flange nut: flats, dc (FastenersWB, cq_warehouse); m max equal to d (memory).
FLANGE_NUT_WIDTH = {5: 8, 6: 10, 8: 13, 10: 15, 12: 18, 14: 21, 16: 24}
FLANGE_NUT_DIAMETER = {5: 11.8, 6: 14.2, 8: 17.9, 10: 21.8, 12: 26.0, 14: 29.9, 16: 34.5}
# ISO 4762: key s, head diameter dk, head height k = d (FastenersWB, BOLTS, cq_warehouse); key engagement half of k.
CAP_KEY = {5: 4, 6: 5, 8: 6, 10: 8, 12: 10}
CAP_DIAMETER = {5: 8.5, 6: 10, 8: 13, 10: 16, 12: 18}
# ISO 7089: inside d1, outside d2, thickness h (FastenersWB, BOLTS).
WASHER = {
    5: (5.3, 10, 1.0),
    6: (6.4, 12, 1.6),
    8: (8.4, 16, 1.6),
    10: (10.5, 20, 2.0),
    12: (13, 24, 2.5),
    16: (17, 30, 3.0)
}
# DIN 935: flats, overall height m, height to slot bottom w, slot width n (three manufacturers' tables, agreeing);
# crown diameter d1 of M12 and up (memory).
CASTLE = {10: (16, 12, 8, 2.8, 0), 12: (18, 15, 10, 3.5, 17), 14: (21, 16, 11, 3.5, 19)}
# ISO 1234 by nominal size: body d, eye c, eye length b, long end a (FastenersWB, means of min and max).
SPLIT_PIN = {2: (1.75, 4.3, 5, 1.875), 2.5: (2.2, 4.3, 5, 1.875), 3.2: (2.8, 5.45, 6.4, 2.4)}
# ISO 2341 clevis pin 8: head dk 14, k 3 (memory).
CLEVIS_PIN = {8: (14, 3)}
# DIN 908 collared plug M22x1.5: key 10, collar 27 by 4, thread 14 long (memory). DIN 7603 A ring 22x27x1.5 (memory).
PLUG = {22: (10, 27, 4, 14), 14: (6, 19, 3, 12)}
RING = {22: (22, 27, 1.5), 14: (14, 18, 1.5)}

SHANK = {}  # mesh name: (diameter, length below z = 0, length above it), for the holes that parts get
_made = {}


def _shared(build):

    def ask(*size, **options):
        key = (build.__name__, ) + size + tuple(sorted(options.items()))
        if key not in _made:
            name = "_".join(
                str(part).replace(".", "p")
                for part in (build.__name__, ) + size + tuple(v for _, v in sorted(options.items())))
            _made[key] = build(*size, **options).to_mesh(name, smooth_below_degrees=25, weighted=False)
            if build.__name__ in ("hex_bolt", "flange_bolt", "cap_screw", "clevis_pin"):
                SHANK[name] = (size[0], size[1], 0)
            elif build.__name__ == "stud":
                SHANK[name] = (size[0], size[2], size[1])
            elif build.__name__ == "plug":
                SHANK[name] = (size[0], PLUG[size[0]][3], 0)
        return _made[key]

    return ask


def _ring(made, radii, height):
    count = len(radii)
    return [
        made.verts.new(
            to_blender((r * math.cos(2 * math.pi * i / count), r * math.sin(2 * math.pi * i / count),
                        height if not isinstance(height, list) else height[i]))) for i, r in enumerate(radii)
    ]


def _stack(solid, rings, material=None, cap_low=True, cap_high=True):
    """Rings of equal count, given as (radii, heights), joined from the lowest to the highest."""
    made = bmesh.new()
    rows = [_ring(made, radii, heights) for radii, heights in rings]
    count = len(rows[0])
    for low, high in zip(rows, rows[1:]):
        for i in range(count):
            made.faces.new((low[i], low[(i + 1) % count], high[(i + 1) % count], high[i]))
    if cap_low:
        made.faces.new(list(reversed(rows[0])))
    if cap_high:
        made.faces.new(rows[-1])
    solid._add(made, material)


STEPS = 24  # points round a hexagon: corners at every fourth, so that flats and the chamfer's arcs are true


def _hexagon(width):
    return [width / 2 / math.cos(math.radians((15 * i) % 60 - 30)) for i in range(STEPS)]


def _chamfered(radii, width, height, up=True):
    """Heights where the 30 degree chamfer cone meets the hexagon, `height` being the face's."""
    slope = math.tan(math.radians(30))
    drop = [max(0.0, (r - 0.475 * width)) * slope for r in radii]
    return [height - d if up else height + d for d in drop]


def _hex_prism(solid, width, low, high, material=None, chamfer_low=False):
    radii = _hexagon(width)
    face = [0.475 * width] * STEPS
    rings = []
    if chamfer_low:
        rings += [(face, low), (radii, _chamfered(radii, width, low, up=False))]
    else:
        rings += [(radii, low)]
    rings += [(radii, _chamfered(radii, width, high)), (face, high)]
    _stack(solid, rings, material)


def _shank(solid, diameter, length, material=None):
    chamfer = 0.08 * diameter
    solid.lathe([(diameter / 2 - chamfer, -length), (diameter / 2, chamfer - length), (diameter / 2, 0.2)], (0, 0, 0),
                UP, material, 20)


@_shared
def hex_bolt(diameter, length, finish="steel_zinc"):
    """ISO 4014/4017; the length is from under the head."""
    solid = Solid(finish)
    _hex_prism(solid, HEX_WIDTH[diameter], 0.0, HEX_HEIGHT[diameter])
    _shank(solid, diameter, length)
    return solid


@_shared
def flange_bolt(diameter, length, finish="steel_zinc"):
    """EN 1665; the length is from under the flange."""
    solid = Solid(finish)
    width, wide, height, edge = (t[diameter] for t in (FLANGE_WIDTH, FLANGE_DIAMETER, FLANGE_HEIGHT, FLANGE_EDGE))
    _flanged_hex(solid, width, wide, height, edge)
    _shank(solid, diameter, length)
    return solid


def _flanged_hex(solid, width, wide, height, edge):
    radii = _hexagon(width)
    slope = math.tan(math.radians(25))
    rise = [edge + (wide / 2 - r) * slope for r in radii]
    _stack(solid, [([wide / 2 - 0.4] * STEPS, 0.0), ([wide / 2] * STEPS, 0.4), ([wide / 2] * STEPS, edge),
                   (radii, rise), (radii, _chamfered(radii, width, height)), ([0.475 * width] * STEPS, height)])


@_shared
def cap_screw(diameter, length, finish="steel_dark"):
    """ISO 4762; the length is from under the head."""
    solid = Solid(finish)
    wide, key = CAP_DIAMETER[diameter] / 2, CAP_KEY[diameter]
    socket = _hexagon(key)
    bottom = diameter / 2
    _stack(solid, [([wide - 0.2] * STEPS, 0.0), ([wide] * STEPS, 0.3), ([wide] * STEPS, diameter - 0.5),
                   ([wide - 0.5] * STEPS, diameter), ([r + 0.2 for r in socket], diameter), (socket, diameter - 0.4),
                   (socket, bottom), ([key / 2 * 0.5] * STEPS, bottom - key * 0.12)])
    _shank(solid, diameter, length)
    return solid


@_shared
def hex_nut(diameter, finish="steel_zinc"):
    """ISO 4032."""
    solid = Solid(finish)
    _nut_body(solid, HEX_WIDTH[diameter], NUT_HEIGHT[diameter], diameter)
    return solid


@_shared
def lock_nut(diameter, finish="steel_yellow"):
    """ISO 7042 all-metal self-locking nut: flats of ISO 272, height equal to d (memory), the crown drawn in."""
    solid = Solid(finish)
    width, body = HEX_WIDTH[diameter], 0.72 * diameter
    _nut_body(solid, width, body, diameter)
    solid.lathe([(diameter * 0.5, body - 0.4), (width * 0.44, body - 0.4), (width * 0.43, body + 0.1 * diameter),
                 (diameter * 0.62, diameter), (diameter * 0.5, diameter)], (0, 0, 0), UP, None, 24, closed=True)
    return solid


def _nut_body(solid, width, height, diameter):
    radii, face = _hexagon(width), [0.475 * width] * STEPS
    hole, mouth = [diameter / 2] * STEPS, [diameter / 2 * 1.08] * STEPS
    sink = diameter * 0.05
    _stack(solid, [(hole, sink), (mouth, 0.0), (face, 0.0), (radii, _chamfered(radii, width, 0.0, up=False)),
                   (radii, _chamfered(radii, width, height)), (face, height), (mouth, height), (hole, height - sink),
                   (hole, sink)], cap_low=False, cap_high=False)


@_shared
def flange_nut(diameter, finish="steel_zinc"):
    """ISO 4161."""
    solid = Solid(finish)
    width, wide = FLANGE_NUT_WIDTH[diameter], FLANGE_NUT_DIAMETER[diameter]
    radii, hole = _hexagon(width), [diameter / 2] * STEPS
    edge, height, slope = FLANGE_EDGE[diameter], float(diameter), math.tan(math.radians(25))
    rise = [edge + (wide / 2 - r) * slope for r in radii]
    _stack(solid, [(hole, 0.0), ([wide / 2 - 0.4] * STEPS, 0.0), ([wide / 2] * STEPS, 0.4), ([wide / 2] * STEPS, edge),
                   (radii, rise), (radii, _chamfered(radii, width, height)), ([0.475 * width] * STEPS, height),
                   (hole, height), (hole, 0.0)], cap_low=False, cap_high=False)
    return solid


@_shared
def castle_nut(diameter, finish="steel_zinc"):
    """DIN 935: six slots down to w; from M12 the slotted crown is round."""
    width, height, slot_bottom, slot, crown = CASTLE[diameter]
    solid = Solid(finish)
    _nut_body(solid, width, slot_bottom, diameter)
    outer, inner = (crown or 0.95 * width) / 2, diameter / 2
    for i in range(6):
        middle = math.radians(60 * i + 30)
        outline = []
        for radius, order in ((outer, (-1, -0.5, 0, 0.5, 1)), (inner, (1, 0, -1))):
            half = math.radians(30) - math.asin(slot / 2 / radius)
            outline += [(radius * math.cos(middle + half * k), radius * math.sin(middle + half * k)) for k in order]
        solid.extrude(outline, (0, 0, slot_bottom - 0.3), LEFT, (0, 1, 0), UP * (height - slot_bottom + 0.3), None, 0.4)
    return solid


@_shared
def washer(diameter, finish="steel_zinc"):
    """ISO 7089."""
    inside, outside, height = WASHER[diameter]
    return _flat_ring(inside, outside, height, finish)


def _flat_ring(inside, outside, height, finish, edge=0.15):
    solid = Solid(finish)
    i, o = inside / 2, outside / 2
    solid.lathe([(i, 0), (o - edge, 0), (o, edge), (o, height - edge), (o - edge, height), (i, height)], (0, 0, 0), UP,
                None, 32, closed=True)
    return solid


@_shared
def sealing_ring(diameter, finish="copper"):
    """DIN 7603 form A."""
    return _flat_ring(*RING[diameter], finish)


@_shared
def spacer(diameter, outside, length, finish="steel_zinc"):
    return _flat_ring(diameter * 1.06, outside, length, finish, 0.5)


@_shared
def stud(diameter, showing, buried, finish="steel_dark"):
    """z = 0 at the face that it is screwed into."""
    solid = Solid(finish)
    c, r = 0.08 * diameter, diameter / 2
    solid.lathe([(r - c, -buried), (r, c - buried), (r, showing - c), (r - c, showing)], (0, 0, 0), UP, None, 20)
    return solid


@_shared
def plug(diameter, finish="steel_dark"):
    """DIN 908: collar and hexagon socket."""
    key, collar, thick, thread = PLUG[diameter]
    solid = Solid(finish)
    wide, socket = collar / 2, _hexagon(key)
    _stack(solid, [([wide - 0.3] * STEPS, 0.0), ([wide] * STEPS, 0.3), ([wide] * STEPS, thick - 0.6),
                   ([wide - 0.6] * STEPS, thick), ([r + 0.3 for r in socket], thick), (socket, thick - 0.6),
                   (socket, -5.0), ([key * 0.25] * STEPS, -5.0 - key * 0.12)])
    _shank(solid, diameter, thread)
    return solid


@_shared
def split_pin(size, length, finish="steel_zinc"):
    """ISO 1234, its ends bent over; z = 0 where the eye meets the hole, the eye towards +Z."""
    body, eye, eye_length, long_end = SPLIT_PIN[size]
    solid = Solid(finish)
    solid.cylinder((0, 0, -length), (0, 0, 0.2), body / 2, None, 10, bevel=0.2)
    loop = []
    for i in range(17):
        angle = math.radians(-70 + 320 * i / 16)
        loop.append((eye * 0.36 * math.cos(angle), 0, eye_length * 0.55 + eye_length * 0.42 * math.sin(angle)))
    solid.sweep([(0.25 * body, 0, -0.4)] + loop + [(-0.25 * body, 0, -0.4)], body * 0.28, None, 8)
    for side in (1, -1):
        solid.sweep([(0, side * 0.2 * body, -length + 0.5), (0, side * 0.6 * body, -length - 0.6 * body),
                     (0, side * (1.6 * body + long_end), -length - 0.4 * body + 0.8)], body * 0.28, None, 8)
    return solid


@_shared
def clevis_pin(diameter, length, pin_at, finish="steel_zinc"):
    """ISO 2341; the length is from under the head, and so is the place of the split pin's hole, along local Y."""
    solid = Solid(finish)
    wide, head = CLEVIS_PIN[diameter]
    solid.lathe([(wide / 2 - 0.3, 0), (wide / 2, 0.3), (wide / 2, head - 0.6), (wide / 2 - 0.6, head)], (0, 0, 0), UP,
                None, 24)
    _shank(solid, diameter, length)
    return solid.drill((0, -diameter, -pin_at), (0, diameter, -pin_at), 1.1)


def hose_clip_reach(bore):
    """How far the screw stands beside the hose's axis, and above it, so that a clip can be placed by the hose."""
    return bore / 2 + 4.8, 6.0


@_shared
def hose_clip(bore, band=9, finish="steel_zinc"):
    """Worm-drive clip, DIN 3017 band width; the hose runs along local Y, z = 0 is under the screw's head, which looks
    along +Z."""
    solid = Solid(finish)
    r = bore / 2
    side, low = hose_clip_reach(bore)
    solid.lathe([(r, -band / 2), (r + 0.9, -band / 2), (r + 0.9, band / 2), (r, band / 2)], (-side, 0, -low), (0, 1, 0),
                None, 32, closed=True)
    solid.box((-0.6, 0, -low), (7.6, band + 3, 11.4), None, 0.8)
    solid.box((-3.4, 0, -low), (2.4, band, 22), None, 0.5)
    _hex_prism(solid, 7, 0.6, 5.0)
    solid.cylinder((0, 0, -13.6), (0, 0, 1), 2.9, None, 14, 0.3)
    return solid


@_shared
def pipe_clip(bore, finish="rubber"):
    """Rubber-lined strap round a line, its foot to one side; the line runs along local Y, the foot's face is z = 0."""
    solid = Solid(finish)
    r = bore / 2
    solid.lathe([(r, -6), (r + 1.8, -6), (r + 1.8, 6), (r, 6)], (0, 0, r + 1.8), (0, 1, 0), None, 20, closed=True)
    solid.extrude(rectangle(22, 12, (r + 9, 0), 3), (0, 0, 0), LEFT, (0, 1, 0), UP * 2.2, "steel_zinc", 0.3)
    part = Solid("steel_zinc")
    _hex_prism(part, HEX_WIDTH[6], 2.2, 2.2 + HEX_HEIGHT[6])
    part.lathe([(2.6, -12), (3, -11.6), (3, 2.4)], (0, 0, 0), UP, None, 16)
    return solid.join(part.move((r + 12, 0, 0)))


@_shared
def snap_clip(bore, finish="plastic_black"):
    """Push-in harness clip: the line along local Y, the fir-tree foot down -Z, z = 0 the panel."""
    solid = Solid(finish)
    r = bore / 2
    solid.lathe([(r, -5), (r + 1.5, -5), (r + 1.5, 5), (r, 5)], (0, 0, r + 3.4), (0, 1, 0), None, 18, closed=True)
    solid.lathe([(1.5, -11), (2.6, -8), (2.2, -6), (3.2, -5), (2.8, 0), (7, 0), (7, 1.2), (3, 2.6)], (0, 0, 0), UP,
                None, 14)
    return solid


@_shared
def connector(finish="plastic_grey"):
    """A sealed two-way plug, its mating face z = 0, pulled off along +Z."""
    solid = Solid(finish)
    solid.extrude(rectangle(20, 15, radius=3), (0, 0, -12), LEFT, (0, 1, 0), UP * 34, None, 0.6)
    solid.cut(Solid(finish).extrude(rectangle(18.5, 13.5, radius=2.5), (0, 0, -14), LEFT, (0, 1, 0), UP * 14.3))
    solid.extrude(rectangle(22.5, 17.5, radius=3.5), (0, 0, 4), LEFT, (0, 1, 0), UP * 3, None, 0.5)
    solid.box((0, 9, 6), (7, 3, 20), "plastic_black", 0.6)
    solid.cylinder((0, 0, 21), (0, 0, 30), 5, "rubber", 16, 0.8)
    return solid


@_shared
def rubber_hanger(pitch, bore, finish="rubber"):
    """Exhaust rubber: two eyes `pitch` apart along local Y, pulled off its pins along +Z; z = 0 its middle."""
    solid = Solid(finish)
    r = bore / 2
    outline = belt((0, -pitch / 2), r + 8, (0, pitch / 2), r + 8, 28)
    solid.extrude(outline, (0, 0, -10), LEFT, (0, 1, 0), UP * 20, None, 2.0)
    knife = Solid(finish)
    for y in (-pitch / 2, pitch / 2):
        knife.cylinder((0, y, -14), (0, y, 14), r, None, 20)
    knife.extrude(rectangle(6, pitch - bore - 14, radius=2.5), (0, 0, -14), LEFT, (0, 1, 0), UP * 28)
    return solid.cut(knife)


@_shared
def sleeve_clamp(bore, length, finish="steel_dark"):
    """Exhaust sleeve over two butted pipes: the pipe along local Y, two bolts along Z, z = 0 under their nuts."""
    solid = Solid(finish)
    r = bore / 2
    solid.lathe([(r, -length / 2), (r + 2, -length / 2), (r + 2, length / 2), (r, length / 2)], (-r - 11, 0, -11),
                (0, 1, 0), None, 36, closed=True)
    for z in (-4, -18):
        solid.extrude(rectangle(22, length - 10, (0.4, 0), 3), (0, 0, z - 4), LEFT, (0, 1, 0), UP * 4, None, 0.6)
    for y in (-length * 0.3, length * 0.3):
        part = Solid("steel_zinc")
        _hex_prism(part, 13, 0.0, 6.8)
        _hex_prism(part, 13, -27.3, -22.0)
        part.cylinder((0, 0, -24), (0, 0, 10), 4, None, 16, 0.5)
        solid.join(part.move((0, y, 0)))
    return solid


@_shared
def tab_plate(pitch, hole, finish="steel_bare"):
    """Lock plate under two heads, DIN 463 fashion (invented size), tabs turned up; z = 0 is the face it lies on."""
    solid = Solid(finish)
    solid.extrude(belt((-pitch / 2, 0), 9.5, (pitch / 2, 0), 9.5, 36), (0, 0, 0), LEFT, (0, 1, 0), UP * 0.8, None)
    for side in (1, -1):
        solid.drill((side * pitch / 2, 0, -2), (side * pitch / 2, 0, 4), hole / 2)
        solid.box((side * pitch / 2, 8.9, 3.4), (7, 0.8, 6))
    return solid
