"""Shapes of what comes out or moves: transfer box, shafts, crossmember, exhaust and the rest. Invented for this demo."""
import math

from big_vehicle import (BOLT_CIRCLE, CANISTER, CROSS_FRONT, EXHAUST, EXHAUST_FLANGE, FRONT_OUTPUT, HANGERS, MOUNTS,
                         STEADY_BALL, STEADY_EYE, _bolt_head, pipe_flange, place_on_circle)
from solids import DOWN, FRONT, LEFT, REAR, RIGHT, UP, Solid, Vector, belt, bent, rectangle

A, B = (0, 0), (FRONT_OUTPUT[0], FRONT_OUTPUT[2])
CASE_A, CASE_B = 105, 85
FOOT_UP = -145  # underside of the feet, top of the mounts' plates
FRONT_FLANGE, REAR_FLANGE = 122, -330  # mating faces with the propeller shafts
LEVEL_PLUG = (185, -229, -95)
DRAIN_PLUG = (150, -67, -147)
FILL_PLUG = (-107, -152, 6)
SWITCH_AT, SWITCH_AXIS = Vector((106, -80, 77)), Vector((0.483, 0, 0.875)).normalized()
SWITCH_SCREWS = (24, -24)
SENSOR_AT = Vector((-74, -268, 12))
NIPPLE = Vector((0, -165, 104))
SELECTOR = Vector((-118, -90, 60))
PIN_REAR, PIN_FRONT = Vector((-118, -90, 112)), Vector((-118, 100, 112))
HARNESS_PAD = Vector((20, -60, 106))


def transfer_box():
    s = Solid("cast_alloy")
    case = belt(A, CASE_A, B, CASE_B, 64)
    lip = belt(A, CASE_A + 12, B, CASE_B + 12, 64)
    rear = belt(A, CASE_A - 5, B, CASE_B - 5, 64)
    s.extrude(case, (0, -116, 0), LEFT, UP, FRONT * 66, None, 5, 2)
    s.extrude(lip, (0, -115.6, 0), LEFT, UP, FRONT * 11, None, 1.5)
    s.extrude(lip, (0, -127, 0), LEFT, UP, FRONT * 11, None, 1.5)
    s.extrude(rear, (0, -226, 0), LEFT, UP, FRONT * 102, None, 8, 2)
    for angle in (100, 135, 170, 205, 240):
        _case_bolt(s, A, CASE_A + 5, angle)
    for angle in (-85, -50, -15, 20):
        _case_bolt(s, B, CASE_B + 5, angle)
    for share in (0.2, 0.62):
        for high in (True, False):
            n = (0.483, 0.875) if high else (-0.241, -0.970)
            left = A[0] + n[0] * 105 + share * (B[0] - A[0] + n[0] * -20) + n[0] * 5
            up = A[1] + n[1] * 105 + share * (B[1] - A[1] + n[1] * -20) + n[1] * 5
            _case_bolt_at(s, left, up)
    # neck and flange to the gearbox
    s.lathe([(100, -52), (88, -46), (84, -22), (87, -15), (122, -15), (123.5, -13.5), (123.5, -2.3), (122, -0.8),
             (60, -0.8), (60, -30), (24, -32), (22, -34), (22, -62)], (0, 0, 0), FRONT, None, 64)
    for i in range(8):
        left, up = place_on_circle(22.5 + 45 * i, BOLT_CIRCLE)
        s.cylinder((left, -1.2, up), (left, -16, up), 14.5, None, 28, 0.8)
    # ribs over the case
    for angle in (60, 90, 120, 150, 180, 240, 270):
        out = LEFT * math.cos(math.radians(angle)) + UP * math.sin(math.radians(angle))
        side = out.cross(FRONT)
        for low, high, radius in ((-105, -52, CASE_A - 2), (-220, -127, CASE_A - 8)):
            s.extrude([(0, low), (9, low + 6), (9, high - 8), (0, high)], out * radius - side * 3, out, FRONT, side * 6,
                      None, 1)
    for angle in (-60, -25, 10):
        out = LEFT * math.cos(math.radians(angle)) + UP * math.sin(math.radians(angle))
        side = out.cross(FRONT)
        base = Vector((B[0], 0, B[1])) + out * (CASE_B - 8) - side * 3
        s.extrude([(0, -220), (9, -214), (9, -135), (0, -127)], base, out, FRONT, side * 6, None, 1)
    # shift housing on top, in front of the joint: it hides the two upper bolts from behind
    s.extrude(rectangle(150, 50, (0, 113), 12), (0, -104, 0), LEFT, UP, FRONT * 54, "cast_alloy_dark", 3)
    # front output
    # slim enough to pass the tail's flange, and for a socket on the bolt between the two
    s.lathe([(70, -60), (56, -44), (40, -30), (36, 30), (33, 38), (27, 44), (27, 88)], (B[0], 0, B[1]), FRONT, None, 40)
    for angle in (30, 95, 225, 270, 330):
        out = LEFT * math.cos(math.radians(angle)) + UP * math.sin(math.radians(angle))
        side = out.cross(FRONT)
        s.extrude([(0, -52), (22, -50), (3, 22), (0, 30)],
                  Vector((B[0], 0, B[1])) + out * 35 - side * 3, out, FRONT, side * 6, None, 1)
    companion(s, (B[0], FRONT_FLANGE, B[1]), 1)
    # rear output
    s.lathe([(84, -222), (76, -232), (62, -246), (56, -290), (50, -296)], (0, 0, 0), FRONT, None, 48)
    for angle in range(30, 390, 60):
        out = LEFT * math.cos(math.radians(angle)) + UP * math.sin(math.radians(angle))
        side = out.cross(FRONT)
        s.extrude([(0, -224), (34, -226), (4, -285), (0, -290)], out * 52 - side * 3, out, FRONT, side * 6, None, 1)
    s.lathe([(46, -298), (69, -296), (70, -298), (70, -322), (68, -322), (66.5, -300), (46, -301)], (0, 0, 0), FRONT,
            "steel_dark", 48, closed=True)
    companion(s, (0, REAR_FLANGE, 0), -1)
    # feet
    left = MOUNTS["left"]
    s.extrude([(205, -145), (left + 34, -145), (left + 34, -131), (222, -131), (214, -100), (195, -95)],
              (0, CROSS_FRONT - 26, 0), LEFT, UP, FRONT * 52, None, 3)
    for front in (CROSS_FRONT - 25, CROSS_FRONT + 17):
        s.extrude([(215, -133), (left + 26, -133), (left + 26, -126), (234, -80), (214, -66)], (0, front, 0), LEFT, UP,
                  FRONT * 8, None, 1.5)
    right = MOUNTS["right"]
    s.extrude([(right - 34, -145), (-40, -145), (-20, -98), (-75, -72), (-84, -131), (right - 34, -131)],
              (0, CROSS_FRONT - 26, 0), LEFT, UP, FRONT * 52, None, 3)
    for front in (CROSS_FRONT - 25, CROSS_FRONT + 17):
        s.extrude([(right - 26, -133), (-70, -133), (-60, -60), (-92, -55), (right - 26, -126)], (0, front, 0), LEFT,
                  UP, FRONT * 8, None, 1.5)
    # bosses: plugs, brace, selector, sensor, switch, breather, harness bracket
    s.cylinder((FILL_PLUG[0] + 40, FILL_PLUG[1], FILL_PLUG[2]), FILL_PLUG, 18, "cast_alloy", 28, 1.5)
    s.cylinder((LEVEL_PLUG[0], LEVEL_PLUG[1] + 20, LEVEL_PLUG[2]), LEVEL_PLUG, 18, "cast_alloy", 28, 1.5)
    s.cylinder((DRAIN_PLUG[0], DRAIN_PLUG[1], DRAIN_PLUG[2] + 20), DRAIN_PLUG, 16.5, "cast_alloy", 28, 1.2)
    for front in (-172, -210):
        s.cylinder((-75, front, -30), (-122, front, -30), 14, None, 24, 1.5)
    s.block((-116, -222, -36), (-75, -160, -24), None, 3)
    s.cylinder((-70, SELECTOR[1], SELECTOR[2]), (-106, SELECTOR[1], SELECTOR[2]), 17, None, 24, 2)
    s.cylinder((-100, SELECTOR[1], SELECTOR[2]), (-124, SELECTOR[1], SELECTOR[2]), 7, "machined", 20, 0.5)
    arm = Solid("steel_dark").extrude(belt((SELECTOR[1], SELECTOR[2]), 14, (PIN_REAR[1], PIN_REAR[2]), 10, 28),
                                      (-122, 0, 0), FRONT, UP, LEFT * 8, None, 0.8)
    s.join(arm)
    s.extrude(belt((SWITCH_SCREWS[1], 0), 11, (SWITCH_SCREWS[0], 0), 11, 36), SWITCH_AT - SWITCH_AXIS * 26, FRONT,
              SWITCH_AXIS.cross(FRONT), SWITCH_AXIS * 26, None, 1.5)
    s.cylinder(SWITCH_AT - SWITCH_AXIS * 26, SWITCH_AT, 17, None, 28, 1.5)
    s.cylinder(SENSOR_AT + LEFT * 25, SENSOR_AT, 15, None, 24, 1)
    s.cylinder(SENSOR_AT + LEFT * 20 + FRONT * 22, SENSOR_AT + FRONT * 22, 9, None, 20, 1)
    s.cylinder(NIPPLE - UP * 14, NIPPLE, 11, None, 20, 1)
    s.lathe([(4, 0), (4, 16), (5, 18), (3.8, 24)], NIPPLE, UP, "steel_zinc", 16)
    s.cylinder(HARNESS_PAD - UP * 12, (HARNESS_PAD[0], HARNESS_PAD[1], 139), 9, None, 20, 1)
    return s


def _case_bolt(s, centre, radius, angle):
    _case_bolt_at(s, *place_on_circle(angle, radius, centre))


def _case_bolt_at(s, left, up):
    s.cylinder((left, -129, up), (left, -104, up), 11, None, 20, 1)
    _bolt_head(s, (left, -104, up), FRONT, 13, 8)


def companion(s, face, towards):
    """Output flange; its face looks along `towards`, the four bolts' circle is PITCH_SHAFT."""
    ahead = FRONT * towards
    s.lathe([(20, -36), (27, -34), (27, -14), (29, -12), (56, -12), (57.5, -10.5), (57.5, -1.5), (56, 0), (26, 0),
             (24, -6)], face, ahead, "steel_bare", 48)


def propeller_shaft(start, end, slip_near_start):
    """Between two flange faces; yokes, crosses, tube and a sliding spline with its boot."""
    s = Solid("shaft_paint")
    start, end = Vector(start), Vector(end)
    heading = FRONT if end.y > start.y else REAR
    joint_a, joint_b = start + heading * 62, end - heading * 62
    along = (joint_b - joint_a).normalized()
    for face, joint, direction in ((start, joint_a, heading), (end, joint_b, -heading)):
        s.lathe([(25, 0), (56, 0), (57.5, 1.5), (57.5, 9), (56, 10.5), (18.5, 10.5), (17.5, 13), (16, 22)], face,
                direction, None, 48)
        yoke(s, joint, -direction, 48, LEFT)
    for joint, direction in ((joint_a, along), (joint_b, -along)):
        yoke(s, joint, direction, 62, UP.cross(direction).cross(direction).normalized())
        cross(s, joint, direction)
    length = (joint_b - joint_a).length
    tube_a, tube_b = 60, length - 60
    slip = (tube_a, tube_a + 150) if slip_near_start else (tube_b - 150, tube_b)
    outline = [(20, tube_a - 8), (26, tube_a), (32, tube_a + 12), (32, tube_b - 12), (26, tube_b), (20, tube_b + 8)]
    if slip_near_start:
        outline = [(20, tube_a - 8), (30, tube_a), (31, slip[1] - 30), (22, slip[1] - 26), (22, slip[1]),
                   (32, slip[1] + 14), (32, tube_b - 12), (26, tube_b), (20, tube_b + 8)]
    s.lathe(outline, joint_a, along, None, 40)
    boot = [(24, slip[1] - 40)]
    for i in range(5):
        boot += [(36, slip[1] - 36 + 11 * i), (29, slip[1] - 30.5 + 11 * i)]
    if slip_near_start:
        s.lathe(boot + [(24, slip[1] + 22)], joint_a, along, "rubber", 32)
    balance = joint_a + along * (length * 0.7)
    s.box(balance - UP * 33, (14, 30, 4), "steel_zinc", 1)
    return s


def yoke(s, joint, base, reach, ears):
    """Two ears round a cross; `base` is the way from the joint to the flange or tube that they stand on."""
    base, ears = Vector(base).normalized(), Vector(ears).normalized()
    width = ears.cross(base)
    for side in (1, -1):
        outline = belt((0, 0), 19, (reach - 22, 0), 15, 28)
        s.extrude(outline, Vector(joint) + ears * (side * 25), base, width, ears * (side * 13), None, 2)
    s.extrude(rectangle(76, 30, radius=9), Vector(joint) + base * (reach - 12), ears, width, base * 16, None, 3)


def cross(s, joint, along):
    level = UP.cross(along).normalized()
    rise = along.cross(level)
    for axis in (LEFT, rise):
        s.cylinder(Vector(joint) - axis * 33, Vector(joint) + axis * 33, 10, "steel_bare", 20)
        for side in (1, -1):
            s.cylinder(
                Vector(joint) + axis * (side * 26),
                Vector(joint) + axis * (side * 39.5), 13.5, "steel_bare", 24, 1)


def _offset(line, thick):
    """A strip of sheet along a polyline in (left, up)."""
    line = [Vector((a, b, 0)) for a, b in line]
    shifted = []
    for i, p in enumerate(line):
        before = (p - line[i - 1]).normalized() if i else (line[1] - p).normalized()
        after = (line[i + 1] - p).normalized() if i + 1 < len(line) else before
        n = Vector((-(before + after).y, (before + after).x, 0)).normalized()
        shifted.append(p + n * (thick / max(0.4, n.dot(Vector((-before.y, before.x, 0))))))
    return [(p.x, p.y) for p in line] + [(p.x, p.y) for p in reversed(shifted)]


def _rounded(line, radius, steps=4):
    return [(p.x, p.z) for p in bent([(a, 0, b) for a, b in line], radius, steps)]


CABLE_CLIP = Vector((341, CROSS_FRONT - 45, -150))  # its bolt, through the rear wall


def crossmember():
    s = Solid("frame_paint")
    top = _rounded([(-434, -73), (-218, -73), (-168, -185), (314, -185), (358, -73), (434, -73)], 22)
    bottom = _rounded([(-434, -105), (-230, -105), (-178, -225), (324, -225), (372, -105), (434, -105)], 34)
    front, rear = CROSS_FRONT + 45, CROSS_FRONT - 45
    s.extrude(_offset(top, -4), (0, rear, 0), LEFT, UP, FRONT * 90)
    low = Solid("frame_paint").extrude(_offset(bottom, 4), (0, rear, 0), LEFT, UP, FRONT * 90)
    holes = Solid("frame_paint")
    for middle in MOUNTS.values():
        for offset in (-36, 36):
            holes.cylinder((middle + offset, CROSS_FRONT, -240), (middle + offset, CROSS_FRONT, -210), 15, None, 28)
    low.cut(holes)
    s.join(low)
    wall = [(a, b - 2) for a, b in top] + [(a, b + 2) for a, b in reversed(bottom)]
    for at in (rear + 1.5, front - 5.5):
        s.extrude(wall, (0, at, 0), LEFT, UP, FRONT * 4)
    # end plates under the rails
    for side in (1, -1):
        plate = Solid("frame_paint").block((side * 400 - 36, -226, -73), (side * 400 + 36, -34, -65), None, 1.5)
        s.join(plate)
    s.lathe([(6.5, 0), (6.5, 5), (5.7, 5.8)], (CABLE_CLIP[0], rear + 5.5, CABLE_CLIP[2]), FRONT, "steel_dark", 12)
    s.drill((CABLE_CLIP[0], rear - 5, CABLE_CLIP[2]), (CABLE_CLIP[0], rear + 16, CABLE_CLIP[2]), 3)
    for left, _, _ in SKID_REAR:
        s.lathe([(8, 0), (8, 10), (7, 11)], (left, CROSS_FRONT, -221), UP, "steel_dark", 12)
    return s


def mount(left):
    s = Solid("rubber")
    s.extrude(rectangle(100, 66, radius=8), (left, CROSS_FRONT, -185), LEFT, FRONT, UP * 5, "steel_dark", 0.8)
    s.extrude(rectangle(60, 52, radius=8), (left, CROSS_FRONT, -180), LEFT, FRONT, UP * 12, None, 1)
    s.extrude(rectangle(68, 58, radius=10), (left, CROSS_FRONT, -170), LEFT, FRONT, UP * 12, None, 3, 2)
    s.extrude(rectangle(60, 52, radius=8), (left, CROSS_FRONT, -160), LEFT, FRONT, UP * 10, None, 1)
    s.extrude(rectangle(66, 56, radius=8), (left, CROSS_FRONT, -150), LEFT, FRONT, UP * 5, "steel_dark", 0.8)
    s.lathe([(6, 0), (6, 38), (5, 39)], (left, CROSS_FRONT, -147), UP, "steel_zinc", 20)
    for offset in (-36, 36):
        s.lathe([(5, 0), (5, 20), (4.2, 21)], (left + offset, CROSS_FRONT, -182), DOWN, "steel_zinc", 16)
    return s


SKID_EARS = [(side * 392, front, -68) for side in (1, -1) for front in (105, 55)]
SKID_REAR = [(left, CROSS_FRONT, -228) for left in (-30, 140)]


def skid_plate():
    s = Solid("skid_paint")
    plate = Solid("skid_paint").extrude(rectangle(556, 400, (38, -40), 30), (0, 0, -228), LEFT, FRONT, UP * 3, None,
                                        0.6)
    nose = [(159.5, -228), (172, -228), (200, -188)]
    s.extrude(_offset(_rounded(nose, 14), 3), (-205, 0, 0), FRONT, UP, LEFT * 485)
    knife = Solid("skid_paint")
    for left in (-150, 30):
        knife.extrude(belt((left, -60), 10, (left, 10), 10, 20), (0, 0, -240), LEFT, FRONT, UP * 30)
    plate.cut(knife)
    s.join(plate)
    for left in (-190, -110, -10, 70, 205, 262):
        s.extrude([(-7, 0), (-4, -4), (4, -4), (7, 0)], (left, -30, -227), LEFT, UP, FRONT * 150, None, 1)
    for side in (1, -1):
        edge, knee = (316, 372) if side == 1 else (240, 366)
        ear = _rounded([(side * (edge + 0.2), -225.6), (side * (edge + 6), -224), (side * knee, -65),
                        (side * 428, -65)], 10)
        thick = -3 if side == 1 else 3
        s.extrude(_offset(ear, thick), (0, 30, 0), LEFT, UP, FRONT * 100)
        for front in (30.5, 126.5):
            gusset = [(side * edge, -227.5), (side * (knee - 2), -70), (side * (knee - 14), -92),
                      (side * (edge + 20), -227.5)]
            s.extrude(gusset, (0, front, 0), LEFT, UP, FRONT * 3)
    return s


def exhaust_run():
    s = Solid("exhaust_steel")
    left, up = EXHAUST
    s.join(pipe_flange(EXHAUST_FLANGE - 14, 10))
    s.sweep([(left, EXHAUST_FLANGE - 6, up), (left, -235, up)], 25, None, 28, 2)
    oval = belt((left - 40, up), 44, (left + 34, up), 44, 40)
    s.extrude(oval, (0, -610, 0), LEFT, UP, FRONT * 380, None, 10, 3)
    for front in (-240, -603):
        s.extrude(belt((left - 40, up), 45.5, (left + 34, up), 45.5, 40), (0, front, 0), LEFT, UP, FRONT * 4, None, 1)
    s.sweep([(left, -605, up), (left, -748, up)], 25, None, 28, 1.6)
    for hang_left, front in HANGERS:
        at = -117
        s.sweep(
            bent([(left - 22, front, up + 4), (hang_left, front, up + 14), (hang_left, front, at - 12),
                  (hang_left, front + 34, at - 12)], 12), 5, "steel_dark", 10)
    return s


def exhaust_gasket():
    ring = pipe_flange(EXHAUST_FLANGE - 4, 4)
    return ring.recolour("gasket")


def heat_shield():
    s = Solid("shield_alloy")
    arch = _rounded([(-426, -66.2), (-366, -66.2), (-338, -93), (-196, -93), (-164, -124)], 16)
    s.extrude(_offset(arch, 1.2), (0, -612, 0), LEFT, UP, FRONT * 374)
    for front in (-560, -490, -360, -290):
        s.extrude([(-318, -92), (-212, -92), (-214, -88), (-316, -88)], (0, front - 7, 0), LEFT, UP, FRONT * 14, None,
                  1)
    # leg up to the brace over the rear shaft
    leg = _rounded([(-206, -92), (-168, -92), (-160, 37), (-128, 37)], 10)
    s.extrude(_offset(leg, 2), (0, -470, 0), LEFT, UP, FRONT * 40)
    return s


def canister():
    s = Solid("plastic_black")
    at = CANISTER
    s.lathe([(40, -84), (46, -80), (47, -70), (47, 60), (48.5, 62), (48.5, 70), (46, 72), (38, 76)], at, UP, None, 40)
    for left, front in ((-18, 12), (16, -14)):
        s.lathe([(7, 74), (7, 90), (8, 92), (6.5, 98)], (at[0] + left, at[1] + front, at[2]), UP, None, 18)
    # band and bracket with two slots, open downwards: it lifts off its slackened bolts
    s.lathe([(47, -22), (48.6, -22), (48.6, 10), (47, 10)], at, UP, "steel_dark", 40, closed=True)
    outline = [(-84, -13)]
    for slot in (-68, 68):
        outline += [(slot + a, b)
                    for a, b in ((-4.5, -13), (-4.5, -6), (-3, -3), (0, -1.5), (3, -3), (4.5, -6), (4.5, -13))]
    outline += [(84, -13), (84, 16), (-84, 16)]
    s.extrude(outline, (362, at[1], at[2]), FRONT, UP, LEFT * 4, "steel_dark", 0.6)
    s.block((350, at[1] - 24, at[2] - 12), (363, at[1] + 24, at[2] + 8), "steel_dark", 1)
    return s


def hose(path, radius, rounding=40, material="rubber"):
    return Solid(material).sweep(bent(path, rounding, 6), radius, None, 14)


def neutral_switch():
    s = Solid("plastic_black")
    at, axis = SWITCH_AT, SWITCH_AXIS
    side = FRONT
    s.extrude(belt((SWITCH_SCREWS[1], 0), 9, (SWITCH_SCREWS[0], 0), 9, 28), at, side, axis.cross(side), axis * 6, None,
              0.8)
    s.cylinder(at + axis * 4, at + axis * 30, 12, None, 28, 1.5)
    s.extrude(rectangle(18, 13, radius=3), at + axis * 28, side, axis.cross(side), axis * 18, None, 0.6)
    return s


def speed_sensor():
    s = Solid("plastic_black")
    s.cylinder(SENSOR_AT + RIGHT * 0.2, SENSOR_AT + RIGHT * 24, 11, None, 24, 1.5)
    s.extrude(belt((SENSOR_AT[1], SENSOR_AT[2]), 13, (SENSOR_AT[1] + 22, SENSOR_AT[2]), 8, 28), (SENSOR_AT[0], 0, 0),
              FRONT, UP, RIGHT * 5, None, 0.6)
    s.extrude(rectangle(16, 12, radius=3), SENSOR_AT + RIGHT * 20, FRONT, UP, RIGHT * 20, None, 0.6)
    return s


def harness_bracket():
    s = Solid("steel_zinc")
    pad = (HARNESS_PAD[0], HARNESS_PAD[1], 139)
    s.block((pad[0] - 12, pad[1] - 12, pad[2]), (pad[0] + 46, pad[1] + 12, pad[2] + 2.5), None, 0.6)
    s.block((pad[0] + 43.5, pad[1] - 12, pad[2]), (pad[0] + 46, pad[1] + 12, pad[2] + 26), None, 0.6)
    return s.drill((pad[0] + 40, pad[1], 154), (pad[0] + 50, pad[1], 154), 3.3)  # its clip


def shift_rod():
    """A flat eye at each end, outside the arms; the lock nuts set its length."""
    s = Solid("steel_zinc")
    for at, towards in ((PIN_REAR, FRONT), (PIN_FRONT, REAR)):
        s.extrude(belt((0, 0), 11, (34, 0), 7, 28), Vector((-123, at[1], at[2])), towards, UP, RIGHT * 7, None, 0.8)
        base = Vector((-126.5, at[1], at[2]))
        s.lathe([(6, 26), (6.8, 30), (6.8, 56), (6, 57)], base, towards, None, 20)
        s.lathe([(7.4, 57), (7.9, 57.6), (7.9, 62.4), (7.4, 63)], base, towards, None, 6)
    s.cylinder((-126.5, PIN_REAR[1] + 40, PIN_REAR[2]), (-126.5, PIN_FRONT[1] - 40, PIN_FRONT[2]), 4, None, 18)
    return s


LEVER_BOLTS = [(-118, 74, 232), (-118, 146, 232)]


def lever_bracket():
    s = Solid("steel_dark")
    middle, pivot = 110, (106, 170)
    s.extrude(rectangle(56, 104, radius=8), (-118, middle, 232), LEFT, FRONT, UP * 4, None, 0.6)
    for left in (-133, -107):
        s.extrude([(88, 233), (130, 233), (118, 160), (112, 152), (100, 152), (94, 160)], (left, 0, 0), FRONT, UP,
                  LEFT * 4, None, 0.6)
    s.cylinder((-135, *pivot), (-101, *pivot), 6, "steel_bare", 20, 0.6)
    s.extrude(belt(pivot, 12, (PIN_FRONT[1], PIN_FRONT[2]), 10, 28), (-122, 0, 0), FRONT, UP, LEFT * 8, None, 0.8)
    s.cylinder((-128, *pivot), (-108, *pivot), 11, None, 24, 0.6)
    s.extrude(belt(pivot, 10, (120, 197), 7, 24), (-122, 0, 0), FRONT, UP, LEFT * 8, None, 0.8)
    return s


PIN_OF_THE_BALL = 42.5  # ahead of the ball's middle, level with the castle nut's slots


def steady_rod():
    s = Solid("steel_dark")
    eye, ball = Vector(STEADY_EYE), Vector(STEADY_BALL)
    s.lathe([(12, -15), (19, -15), (19, 15), (12, 15)], eye, FRONT, None, 32, closed=True)
    s.lathe([(5.5, -15), (9.6, -15), (9.6, 15), (5.5, 15)], eye, FRONT, "steel_bare", 24, closed=True)
    s.lathe([(9.4, -13), (12.2, -14), (12.2, 14), (9.4, 13)], eye, FRONT, "rubber", 24, closed=True)
    s.cylinder(eye + RIGHT * 16, ball + LEFT * 14, 9, None, 20)
    s.lathe([(14, -16), (18, -13), (18, 6), (15, 9)], ball, FRONT, None, 32)
    s.lathe([(15, 7), (18, 10), (16, 13), (16.5, 15), (10, 18)], ball, FRONT, "rubber", 28)
    s.lathe([(7.6, 6), (7.5, 18), (6.3, 30), (6, 31), (6, 51), (5, 52)], ball, FRONT, "steel_bare", 24)
    return s.drill(ball + FRONT * PIN_OF_THE_BALL - UP * 20, ball + FRONT * PIN_OF_THE_BALL + UP * 20, 1.7)  # split pin


def tail_brace():
    s = Solid("steel_zinc")
    s.extrude(rectangle(348, 28, (-57, -30), 10), (-122, 0, 0), FRONT, UP, RIGHT * 6, None, 0.8)
    s.extrude(rectangle(170, 7, (-57, -30), 3), (-127, 0, 0), FRONT, UP, RIGHT * 5, None, 0.8)
    return s


def shaft_loop():
    s = Solid("steel_zinc")
    line = _rounded([(-104, 36.5), (-60, 36.5), (-54, -80), (54, -80), (60, 36.5), (104, 36.5)], 40, 8)
    return s.extrude(_offset(line, 2.5), (0, -470, 0), LEFT, UP, FRONT * 40, None, 0.4)


def mass_damper():
    s = Solid("cast_iron")
    s.extrude(belt((-18, 0), 20, (18, 0), 20, 40), (140, -226, -45), LEFT, UP, REAR * 5, None, 1)
    s.extrude(belt((-20, 0), 27, (20, 0), 27, 40), (140, -230, -45), LEFT, UP, REAR * 31, None, 4, 2)
    return s


def adapter_gasket():
    s = Solid("gasket")
    return s.lathe([(62, -0.8), (122, -0.8), (122, 0), (62, 0)], (0, 0, 0), FRONT, None, 64, closed=True)
