"""Builds water_pump.glb: the water pump of a made-up stationary engine. See README.md here.

    blender -b --factory-startup -P assets/build_small.py

Widths across flats are EN 1665 for flanged heads, ISO 4762 for the key, DIN 908 for the plug. Torques and amounts are
invented for this demo. Origin: the pump's axis where the pump meets the block; millimetres (left, front, up).
"""
import math
import os
import sys

HERE = os.path.dirname(os.path.abspath(__file__))
sys.path.insert(0, HERE)
sys.dont_write_bytecode = True

import hardware as hw
from scene import Map
from solids import FRONT, LEFT, RIGHT, UP, Solid, Vector, belt, bent, circle, rectangle

STRIP = """
let_it_cool mark_belt catch_tray filler_cap drain_plug drain_coolant hose_clips hose tension_bolt drive_belt
pulley_bolts pulley pump_bolts water_pump pump_gasket
""".split()
STEP = {name: number for number, name in enumerate(STRIP)}

CRANK, TENSIONER, POST = (0, -190), (-132, -112), (-68, -122)
FACE = 96  # front of the pump's hub, where the pulley sits
EARS = {"short": ((-86, -44), (86, -44)), "middle": ((-82, 48), (0, 47)), "long": ((82, 48), )}
THICK = {"short": 22, "middle": 40, "long": 60}
LENGTH = {"short": 40, "middle": 60, "long": 80}
HOSE = Vector((96, 36, -8))


def engine_block():
    s = Solid("pump_paint")
    s.extrude(rectangle(292, 300, (0, -90), 22, 4), (0, -300, 0), LEFT, UP, FRONT * 290, None, 4, 2)
    s.extrude(rectangle(306, 18, (0, 54), 5), (0, -304, 0), LEFT, UP, FRONT * 298, None, 2)
    s.extrude(rectangle(300, 3, (0, 64.5)), (0, -302, 0), LEFT, UP, FRONT * 294, "gasket")
    s.extrude(rectangle(304, 20, (0, 76), 5), (0, -304, 0), LEFT, UP, FRONT * 298, "cast_iron", 2)
    s.extrude(rectangle(272, 92, (0, 128), 10), (0, -298, 0), LEFT, UP, FRONT * 286, "cast_iron", 4, 2)
    s.extrude(rectangle(290, 14, (0, 178), 5), (0, -302, 0), LEFT, UP, FRONT * 294, "cast_iron", 2)
    s.extrude(rectangle(240, 40, (0, 203), 14), (0, -292, 0), LEFT, UP, FRONT * 200, "cast_alloy", 5, 2)
    for left in (-72, -24, 24, 72):
        s.extrude(rectangle(10, 5, radius=2), (left, -288, 224), LEFT, UP, FRONT * 190, "cast_alloy", 1)
    for left in (-132, 132):
        for front in (-282, -215, -148, -81, -28):
            s.cylinder((left, front, 184), (left, front, 193), 8.5, "steel_dark", 6, 1)
            s.cylinder((left, front, 86), (left, front, 92), 8.5, "steel_dark", 6, 1)
    s.lathe([(24, -2), (24, 4), (30, 6), (30, 22), (26, 26), (8, 27)], (-70, -250, 224), UP, "plastic_black", 28)
    # sump, feet, side covers, core plugs, exhaust ports
    s.extrude(rectangle(306, 14, (0, -238), 5), (0, -304, 0), LEFT, UP, FRONT * 298, None, 2)
    s.extrude([(-150, -245), (150, -245), (128, -304), (-128, -304)], (0, -298, 0), LEFT, UP, FRONT * 284, "steel_dark",
              8, 3)
    for side in (1, -1):
        for front in (-262, -58):
            s.extrude([(142, -210), (196, -210), (196, -224), (142, -290)], (0, front - 22, 0), LEFT * side, UP,
                      FRONT * 44, None, 3)
            s.cylinder((side * 176, front, -212), (side * 176, front, -202), 10, "steel_dark", 6, 1)
        for front in (-240, -160, -80):
            s.lathe([(20, -4), (20, 1), (17, 2), (15, 0.4), (8, 0.4)], (side * 146, front, 10), LEFT * side, "machined",
                    28)
            s.extrude(rectangle(44, 34, radius=10), (side * 128, front - 0, 120), FRONT, UP, LEFT * side * 16,
                      "cast_iron", 2)
            s.cylinder((side * 144, front, 120), (side * 146.5, front, 120), 12, "steel_dark", 24)
        s.extrude(rectangle(180, 84, radius=14), (side * 140, -185, -120), FRONT, UP, LEFT * side * 12, "cast_alloy", 2)
        for front in (-262, -185, -108):
            for up in (-152, -88):
                s.cylinder((side * 150, front, up), (side * 156, front, up), 6, "steel_zinc", 6, 0.8)
    # timing cover, face of the pump, crank pulley
    s.extrude(rectangle(186, 120, (0, 2), 22), (0, -12, 0), LEFT, UP, FRONT * 11.2, "machined", 1)
    for left, up in [p for ears in EARS.values() for p in ears]:
        s.cylinder((left, -14, up), (left, -0.8, up), 15.5, "machined", 28)
    s.extrude(belt((0, -198), 80, (0, -176), 80, 56), (0, -11, 0), LEFT, UP, FRONT * 24, "cast_alloy", 3, 2)
    s.extrude(belt((0, -198), 88, (0, -176), 88, 56), (0, -11, 0), LEFT, UP, FRONT * 9, "cast_alloy", 1.5)
    for angle in range(0, 360, 40):
        at = (84 * math.cos(math.radians(angle)), -3,
              -198 + 84 * math.sin(math.radians(angle)) + (22 if 0 < angle < 180 else 0))
        s.cylinder(at, (at[0], 6, at[2]), 6.5, "steel_zinc", 6, 0.8)
    pulley_wheel(s, CRANK, 72, "steel_dark")
    s.cylinder((0, 10, -190), (0, FACE + 4, -190), 18, "steel_dark", 32)
    s.lathe([(24, 0), (24, 4), (17, 5)], (0, FACE + 3, -190), FRONT, "steel_zinc", 32)
    s.lathe([(17.3, 0), (17.3, 12), (14.5, 14)], (0, FACE + 8, -190), FRONT, "steel_zinc", 6)
    # thermostat housing with the filler neck and the hose's upper spigot, tensioner's post, drain boss
    s.extrude(rectangle(96, 60, (0, 0), 14), (70, -60, 184), LEFT, FRONT, UP * 40, "cast_alloy", 4, 2)
    s.lathe([(40, -6), (36, 2), (26, 8), (25, 40), (28, 42), (28, 48), (22, 48), (21, 30), (8, 29)], (70, -60, 228), UP,
            "cast_alloy", 36)
    s.cylinder((90, -60, 210), (168, -60, 210), 19, "cast_alloy", 28, 1)
    s.cylinder((-152, -45, -150), (-138, -45, -150), 16, None, 28, 1)
    s.sweep([(POST[0], -12, POST[1]), (POST[0], FACE - 16, POST[1])], 13, "cast_iron", 28)
    s.lathe([(30, -12), (30, 0), (13, 8)], (POST[0], -2, POST[1]), FRONT, "cast_iron", 28)
    return s


def pulley_wheel(s, at, radius, finish, hub=None):
    """V-pulley, its groove in the belt's plane 16 mm ahead of the hub's face."""
    inner = hub or 14
    profile = [(inner, 0), (radius * 0.55, 0), (radius * 0.62, 4), (radius - 13, 4), (radius, 6), (radius, 8.5),
               (radius - 11, 13.5), (radius - 11, 18.5), (radius, 23.5), (radius, 26), (radius - 15, 27),
               (radius - 17, 9), (radius * 0.6, 8), (radius * 0.53, 4), (inner, 4)]
    s.lathe(profile, (at[0], FACE, at[1]), FRONT, finish, 56, closed=True)


def water_pump():
    s = Solid("cast_alloy")
    s.extrude(circle(72, 56), (0, 0, 0), LEFT, UP, FRONT * 13, None, 1.5)
    for kind, ears in EARS.items():
        for left, up in ears:
            out = Vector((left, 0, up)).normalized() * 40
            if math.hypot(left, up) > 60:
                s.extrude(belt((out[0], out[2]), 22, (left, up), 14.5, 28), (0, 0, 0), LEFT, UP, FRONT * 12, None, 1.5)
            s.cylinder((left, 0, up), (left, THICK[kind], up), 13.5, None, 28, 1.5)
    s.extrude(belt((0, 0), 60, (26, -10), 48, 48), (0, 10, 0), LEFT, UP, FRONT * 26, None, 5, 2)
    # slim above the bolt's ear, and no rib there: a socket passes once the pulley is off
    s.lathe([(40, 34), (31, 40), (28, 50), (27, 80), (24, 84)], (0, 0, 0), FRONT, None, 44)
    for angle in range(0, 360, 60):
        out = LEFT * math.cos(math.radians(angle)) + UP * math.sin(math.radians(angle))
        side = out.cross(FRONT)
        s.extrude([(0, 34), (24, 36), (2, 76), (0, 78)], out * 27 - side * 2.5, out, FRONT, side * 5, None, 1)
    s.cylinder((0, 80, 0), (0, 92, 0), 13, "machined", 28)
    s.lathe([(14, 86), (32, 88), (33, 89), (33, FACE - 1), (32, FACE), (16, FACE), (16, FACE + 5), (15, FACE + 6)],
            (0, 0, 0), FRONT, "steel_bare", 44)
    s.sweep(bent([(30, 24, -8), (80, 24, -8), (152, 24, -8)], 20), 19, None, 28)
    s.lathe([(19, 0), (20.5, 3), (19, 7)], (132, 24, -8), LEFT, None, 28)
    return s


def pump_gasket():
    s = Solid("gasket").extrude(circle(70, 48), (0, -0.8, 0), LEFT, UP, FRONT * 0.8)
    for left, up in [p for ears in EARS.values() for p in ears if math.hypot(*p) > 60]:
        out = Vector((left, up)).normalized() * 40
        s.extrude(belt(out, 20, (left, up), 13.5, 28), (0, -0.75, 0), LEFT, UP, FRONT * 0.7)
    return s


def hose():
    return Solid("rubber").sweep(
        bent([(112, 24, -8), (215, 24, -8), (222, 0, 110), (222, -60, 210), (132, -60, 210)], 48, 8), 23, None, 24, 4)


def drive_belt():
    s = Solid("rubber")
    points = []
    order = [((0, 0), 58), (CRANK, 67), (TENSIONER, 30)]  # clockwise seen from the front
    tangents = []
    for (a, ra), (b, rb) in zip(order, order[1:] + order[:1]):
        d = Vector((b[0] - a[0], b[1] - a[1]))
        tilt = math.acos((ra - rb) / d.length)
        heading = math.atan2(d.y, d.x)
        angle = heading + tilt
        n = (math.cos(angle), math.sin(angle))
        tangents.append(((a[0] + n[0] * ra, a[1] + n[1] * ra), (b[0] + n[0] * rb, b[1] + n[1] * rb), angle))
    for i, (centre, radius) in enumerate(order):
        arrive, leave = tangents[i - 1][2], tangents[i][2]
        while leave > arrive:
            leave -= 2 * math.pi
        count = max(3, int((arrive - leave) / 0.18))
        for k in range(count + 1):
            angle = arrive + (leave - arrive) * k / count
            points.append((centre[0] + radius * math.cos(angle), centre[1] + radius * math.sin(angle)))
    made = [(6.1, 3.2), (-6.1, 3.2), (-2.7, -4), (2.7, -4)]  # it bears on the grooves' sides, not on their floor
    return belt_loop(s, points, made)


def belt_loop(s, points, section):
    """A closed loop in the pulleys' plane; the section's second axis looks outward."""
    import bmesh
    from solids import to_blender
    mesh = bmesh.new()
    rows = []
    count = len(points)
    for i, p in enumerate(points):
        before, after = Vector(points[i - 1]), Vector(points[(i + 1) % count])
        along = (after - before).normalized()
        outward = Vector((-along.y, along.x))
        if outward.dot(Vector(p) - Vector((-40, -90))) < 0:
            outward = -outward
        rows.append([
            mesh.verts.new(to_blender((p[0] + outward.x * b, FACE + 16 + a, p[1] + outward.y * b))) for a, b in section
        ])
    for i in range(count):
        low, high = rows[i], rows[(i + 1) % count]
        for k in range(len(section)):
            mesh.faces.new((low[k], low[(k + 1) % 4], high[(k + 1) % 4], high[k]))
    s._add(mesh, None)
    return s


def tensioner():
    s = Solid("steel_dark")
    pulley = Solid("steel_dark")
    pulley_wheel(pulley, TENSIONER, 36, "steel_zinc", 10)
    s.join(pulley)
    s.cylinder((TENSIONER[0], FACE - 16, TENSIONER[1]), (TENSIONER[0], FACE + 20, TENSIONER[1]), 11, "steel_bare", 28,
               1)
    plate = Solid("steel_dark").extrude(belt(POST, 20, TENSIONER, 18, 36), (0, FACE - 16, 0), LEFT, UP, FRONT * 8, None,
                                        1)
    knife = Solid("steel_dark").extrude(belt((POST[0] - 5, POST[1] + 0.8), 5.6, (POST[0] + 9, POST[1] - 1.4), 5.6, 24),
                                        (0, FACE - 20, 0), LEFT, UP, FRONT * 16)
    return s.join(plate.cut(knife))


m = Map(
    job="Water pump off and back", vehicle="Stationary engine P2 (made up)", target="water_pump",
    source="invented for this demo", caution="; ".join([
        "Never open a hot cooling system: steam scalds", "Engine stopped and its key out: the belt takes fingers",
        "Coolant is poison: tray, lid, out of reach of children and animals",
        "Eye protection when the old gasket is scraped off",
        "The maker's manual comes first: every figure here is invented for this demo"
    ]))

m.part("engine_block", "Engine", engine_block(), fixed=True, fluid="coolant, mixed as the manual states", amount_l=3.2)
m.part("water_pump", "Water pump", water_pump(), step=STEP["water_pump"], mass_kg=2.6, way="front 120 mm",
       opens="engine_block", after="pulley;hose", from_="front",
       note="If it sticks, a soft hammer on its side; never a blade between the faces")
m.part("pump_gasket", "Pump gasket", pump_gasket(), step=STEP["pump_gasket"], renew=True, way="front 60 mm",
       after="water_pump", from_="front", refit_after="clean_faces", refit_note="Both faces clean and dry; new gasket")
pulley = Solid("pump_paint")
pulley_wheel(pulley, (0, 0), 64, "pump_paint", 17)
m.part("pulley", "Pump pulley", pulley, (0, FACE, 0), step=STEP["pulley"], material="steel", way="front 80 mm",
       turns="+z", after="drive_belt", from_="front")
m.part("hose", "Coolant hose", hose(), (150, 24, -8), step=STEP["hose"], material="rubber", flexible=True,
       way="left 60 mm", opens="engine_block", from_="left",
       note="Twist it to break the seal; do not lever on the pump's neck")
m.part("drive_belt", "Drive belt", drive_belt(), (0, FACE + 16, 0), step=STEP["drive_belt"], material="rubber",
       flexible=True, way="front 60 mm", from_="front",
       refit_caution="Fingers out of the pulleys while the engine is turned by hand",
       note="Arrow on its back in the running direction, if it goes on again")
m.part("tensioner", "Belt tensioner", tensioner(), (TENSIONER[0], FACE, TENSIONER[1]), fixed=True, material="steel")

g = m.group("filler_caps", "Filler cap", 1)
m.fastener(
    "filler_cap",
    Solid("plastic_black").lathe([(30, 0), (32, 2), (32, 16), (28, 20), (10, 22)], (0, 0, 0), UP, None,
                                 36).to_mesh("filler_cap"), (70, -60, 276), UP, g, fastener="fill_plug", drive="hand",
    holds="engine_block", step=STEP["filler_cap"], after="let_it_cool", refit_after="fill_coolant", from_="front",
    caution="Only when cold to the hand: steam scalds", refit_caution="none")
g = m.group("drain_plugs", "Drain plug and its ring", 2)
m.fastener("drain_ring", hw.sealing_ring(14), (-152, -45, -150), RIGHT, g, fastener="washer", joint="drain", stack=1,
           renew=True, drive="none", holds="engine_block", step=STEP["drain_plug"], from_="right")
m.fastener("drain_plug", hw.plug(14), (-153.5, -45, -150), RIGHT, g, fastener="drain_plug", joint="drain", stack=2,
           thread_in=("engine_block", 1.5), thread="M14x1.5", length_mm=12, drive="socket 6", head="cap",
           torque="25 N·m", holds="engine_block", after="catch_tray;filler_cap", step=STEP["drain_plug"], turn="head",
           from_="right", refit_note="New sealing ring")
g = m.group("hose_clips", "Hose clips", 2, step=STEP["hose_clips"], fastener="clamp", drive="hex 7")
m.hose_clip("hose_clip_pump", hw.hose_clip(46), hw.hose_clip_reach(46), (124, 24, -8), LEFT, UP, g,
            holds="hose;water_pump", from_="front")
m.hose_clip("hose_clip_housing", hw.hose_clip(46), hw.hose_clip_reach(46), (146, -60, 210), RIGHT, FRONT, g,
            holds="hose;engine_block", from_="front")
g = m.group("tension_bolts", "Bolt of the belt tensioner", 1)
m.fastener("tension_bolt", hw.flange_bolt(10, 35), (POST[0], FACE - 8, POST[1]), FRONT, g, fastener="bolt",
           thread_in=("engine_block", 8), thread="M10", length_mm=35, head="hex_flange", drive="hex 16", grade="8.8",
           torque="45 N·m", frees_when="slack", holds="drive_belt;tensioner;engine_block", step=STEP["tension_bolt"],
           from_="front", note="Slackened only: the arm swings in its slot and the belt comes off",
           refit_note="Belt tight when it gives about a finger's width; not stated as a figure")
g = m.group("pulley_bolts", "Pulley bolts", 4, step=STEP["pulley_bolts"], fastener="bolt", thread="M6", length_mm=16,
            head="hex_flange", drive="hex 10", grade="8.8", torque="9 N·m", pattern="star", holds="pulley;water_pump",
            counter="strap round the pulley", from_="front")
for n, angle in enumerate((45, 135, 225, 315), 1):
    m.fastener(f"pulley_bolt_{n}", hw.flange_bolt(6, 16),
               (24.5 * math.cos(math.radians(angle)), FACE + 4, 24.5 * math.sin(math.radians(angle))), FRONT, g,
               thread_in=("water_pump", 4))
g = m.group("pump_bolts", "Pump bolts, three lengths", 5, step=STEP["pump_bolts"], fastener="bolt", thread="M8",
            head="hex_flange", drive="hex 13", grade="8.8", torque="22 N·m", pattern="centre_out",
            holds="water_pump;engine_block;pump_gasket", own_place=True, after="drain_coolant", from_="front",
            note="Three lengths: lay them out in the pump's shape")
for kind, ears in EARS.items():
    for n, (left, up) in enumerate(ears, 1):
        hidden = kind == "middle" and n == 2
        m.fastener("pump_bolt_behind_pulley" if hidden else f"pump_bolt_{kind}_{n}", hw.flange_bolt(8, LENGTH[kind]),
                   (left, THICK[kind], up), FRONT, g, length_mm=LENGTH[kind],
                   thread_in=("engine_block", THICK[kind] + 0.8), after="drain_coolant;pulley" if hidden else None,
                   note="Behind the pulley; middle length" if hidden else None)


def task(name, title, at=None, **keys):
    m.task(name, title, step=STEP[at or name], **keys)


task("let_it_cool", "Engine stopped, key out, cold to the hand", gate=True, from_="front",
     caution="Never open a hot cooling system")
task("mark_belt", "Mark the belt's running direction", from_="front")
task("catch_tray", "Prove the filler cap loose; tray under the drain plug", does="prove", to="filler_cap",
     from_="right")
task("drain_coolant", "Drain the coolant, note how much came", does="drain", to="engine_block",
     after="drain_plug;filler_cap", from_="right")
task("clean_faces", "Scrape and wipe both faces: no trace of the old gasket, nothing in the passages", "pump_gasket",
     when="refit", gate=True, from_="front", caution="Eye protection")
task("fill_coolant", "Fill slowly, squeeze the hose, top up", "drain_coolant", when="refit", does="fill",
     to="engine_block", refit_after="drain_plug;drain_ring;hose;water_pump", from_="front")
# The cap is on while it runs (common practice, no source), and off once more for the level.
task("level_coolant", "Run it warm, let it cool; cap off, level to the neck's lower edge, cap on", "let_it_cool",
     when="refit", does="level", to="engine_block;filler_cap", gate=True, refit_after="fill_coolant;drive_belt;filler_cap",
     from_="front", caution="Cap off only when cold")

m.write(os.path.join(HERE, "water_pump.glb"))
