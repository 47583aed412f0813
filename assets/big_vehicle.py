"""Shapes of what stays in the vehicle: frame, floor, gearbox tail, axle noses, pipes. Invented for this demo.

Origin: the gearbox's main axis where its tail meets the transfer box. Millimetres (left, front, up).
"""
import math

from solids import FRONT, LEFT, REAR, UP, Solid, Vector, belt, bent, rectangle

RAIL_WEB, RAIL_LIP, RAIL_HALF, RAIL_WALL = 430, 370, 65, 4
BOLT_CIRCLE = 108  # tail to transfer box, eight places
FRONT_OUTPUT = (150, 0, -60)  # axis of the front output
PITCH_SHAFT = 40  # radius of the propeller shafts' four bolts
MOUNTS = {"left": 256, "right": -105}
CROSS_FRONT = -130  # middle of the crossmember
CANISTER = (310, -245, -40)
STEADY_EYE, STEADY_BALL = (-140, 198, 40), (-330, 198, 40)
EXHAUST = (-260, -150)  # left, up of the pipe's axis
EXHAUST_FLANGE = 412  # front face of the gasket
SHIELD_BOLTS = ((-398, -262, -66.2), (-398, -425, -66.2), (-398, -588, -66.2), (-140, -450, 37))
LOOP_BOLTS = ((-90, -450, 36.5), (90, -450, 36.5))
CANISTER_BOLTS = ((362, -177, -46), (362, -313, -46))
HARNESS_CLIPS = (180, 360)
HANGERS = ((-318, 250), (-318, -6), (-318, -672))
EXHAUST_CIRCLE = 47  # a torque wrench passes between the nut and the pipe
EXHAUST_STUDS = [(-260 + EXHAUST_CIRCLE * math.cos(math.radians(a)), -150 + EXHAUST_CIRCLE * math.sin(math.radians(a)))
                 for a in (90, 210, 330)]


def place_on_circle(angle_degrees, radius, centre=(0, 0)):
    angle = math.radians(angle_degrees)
    return centre[0] + radius * math.cos(angle), centre[1] + radius * math.sin(angle)


def frame():
    s = Solid("frame_paint")
    w, lip, h, t = RAIL_WEB, RAIL_LIP, RAIL_HALF, RAIL_WALL
    for side in (1, -1):
        channel = [(w, -h), (w, h), (lip, h), (lip, h - t), (w - t, h - t), (w - t, t - h), (lip, t - h), (lip, -h)]
        rail = Solid("frame_paint").extrude([(side * a, b) for a, b in channel], (0, -1080, 0), LEFT, UP, FRONT * 2100,
                                            None, 1.2)
        holes = Solid("frame_paint")
        for front in (900, 760, 480, 330, 20, -420, -560, -760, -900):
            holes.cylinder((side * (w - 20), front, 0), (side * (w + 20), front, 0), 17, None, 28)
        s.join(rail.cut(holes))
        # stiffeners in the rail over the crossmember, with the weld nuts on them
        s.block((side * 398 - 28, -236, -61), (side * 398 + 28, -24, -50), None, 1.5)
        for front in (-62, -198):
            for left in (385, 415):
                s.lathe([(11, 0), (11, 12), (9.5, 13.5)], (side * left, front, -50), UP, "steel_dark", 16)
        for front, left in ((55, 392), (105, 392)):
            s.lathe([(8, 0), (8, 9), (7, 10)], (side * left, front, t - h), UP, "steel_dark", 12)
        # body brackets outside the rails
        for front in (620, -640):
            s.extrude([(w, -30), (w, 50), (w + 70, 50), (w + 70, 40)], (0, front - 35, 0), LEFT * side, UP, FRONT * 70,
                      None, 2)
    # cross tubes and the brace over the rear shaft
    s.cylinder((-w + 3, 985, 0), (w - 3, 985, 0), 26, None, 32)
    s.cylinder((-w + 3, -1010, 25), (w - 3, -1010, 25), 28, None, 32)
    hat = [(-60, 0), (-40, 0), (-32, 18), (32, 18), (40, 0), (60, 0), (60, 3), (42, 3), (34, 20), (-34, 20), (-42, 3),
           (-60, 3)]
    s.block((t - w, -490, 39), (w - t, -410, 43), None, 0.8)
    s.extrude(hat, (-w + t, -450, 43), FRONT, UP, LEFT * 2 * (w - t), None, 0.8)
    # tab that carries the canister, bracket of the steady rod, stubs of the exhaust rubbers
    s.block((366, CANISTER[1] - 90, -h + t), (370, CANISTER[1] + 90, h - t), None, 1)
    s.block((366, CANISTER[1] - 90, -h + t), (428, CANISTER[1] - 86, h - t), None, 1)
    s.block((366, CANISTER[1] + 86, -h + t), (428, CANISTER[1] + 90, h - t), None, 1)
    for _, front, up in CANISTER_BOLTS:
        s.lathe([(8, 0), (8, 9), (7, 10)], (370, front, up), LEFT, "steel_dark", 12)
    for left, front, _ in LOOP_BOLTS:
        s.lathe([(8, 0), (8, 9), (7, 10)], (left, front, 43), UP, "steel_dark", 12)
    for left, front, up in SHIELD_BOLTS:
        s.lathe([(6.5, 0), (6.5, 6.5), (5.7, 7.3)], (left, front, 43 if up > 0 else t - h), UP, "steel_dark", 12)
    eye = [(-w + t, -26), (STEADY_BALL[0], -24)] + \
          [(STEADY_BALL[0] + 24 * math.cos(a), 24 * math.sin(a)) for a in
           [math.radians(d) for d in range(-75, 76, 15)]] + [(STEADY_BALL[0], 24), (-w + t, 24)]
    front = STEADY_BALL[1] + 18
    bracket = Solid("frame_paint").extrude(eye, (0, front, STEADY_BALL[2]), LEFT, UP, FRONT * 12, None, 1.5)
    bracket.cut(
        Solid("frame_paint").lathe([(7.9, -1), (7.8, 0), (6.5, 12), (6.5, 14)], (STEADY_BALL[0], front, STEADY_BALL[2]),
                                   FRONT, None, 24))
    s.join(bracket)
    s.extrude([(-w + t, 0), (-w + t, 46), (-366, 0)], (0, front + 12, STEADY_BALL[2] - 5), LEFT, FRONT, UP * 5, None,
              0.8)
    for left, front in HANGERS:
        s.sweep(
            bent([(-400, front, -h), (-400, front, -h - 14), (left, front, -h - 14), (left, front + 34, -h - 14)], 12),
            5, "steel_dark", 10)
        s.block((-418, front - 14, -h - 4), (-380, front + 14, -h + 1), None, 1)
    return s


def floor():
    s = Solid("body_paint")
    low = [(-590, 60), (-586, 82), (-207, 82), (-198, 92), (-188, 200), (-178, 222), (-158, 236)]
    high = [(-592, 60), (-588, 84), (-209, 84), (-200, 93), (-190, 201), (-179, 224), (-159, 238)]
    outline = low + [(-a, b) for a, b in reversed(low)] + [(-a, b) for a, b in high] + list(reversed(high))
    s.extrude(outline, (0, -960, 0), LEFT, UP, FRONT * 1760)
    for side in (1, -1):
        for left in (285, 355, 470, 535):
            s.extrude(rectangle(26, 7, radius=3), (side * left, -900, 85), LEFT, UP, FRONT * 1620)
        for front in (650, 60, -640):
            s.cylinder((side * 400, front, RAIL_HALF), (side * 400, front, 79), 30, "rubber", 24, 2)
    s.lathe([(6.5, 0), (6.5, 5), (5.7, 5.8)], (18.5, 60, 238), UP, "steel_dark", 12)  # of the breather hose's clip
    s.drill((18.5, 60, 230), (18.5, 60, 250), 3)
    for front in HARNESS_CLIPS:
        s.drill((185, front, 160), (205, front, 160), 3.3)
    for front in (500, 240, -160, -420, -700):
        s.extrude(rectangle(30, 6, radius=2.5), (-150, front, 238.5), FRONT, UP, LEFT * 300)
    # the hand lever's boot and the lever, in the cab
    s.lathe([(46, 0), (44, 6), (30, 12), (34, 20), (24, 27), (26, 36), (14, 44)], (-60, 330, 238), UP, "rubber", 28)
    s.sweep(bent([(-60, 330, 270), (-60, 330, 380), (-75, 290, 520)], 120), 7, "steel_dark", 14)
    s.ball((-76, 287, 532), 21, "plastic_black")
    return s


def gearbox_tail():
    s = Solid("cast_alloy")
    s.lathe([(150, 800), (176, 800), (176, 786), (152, 784), (150, 700), (128, 655), (112, 630)], (0, 0, 0), FRONT,
            None, 48)
    for angle in range(15, 195, 30):  # they come down with it: engine and gearbox tip as one
        left, up = place_on_circle(angle, 164)
        _bolt_head(s, (left, 786, up), REAR, 16, 6.4)
    s.extrude(rectangle(200, 206, (0, -4), 26, 4), (0, 300, 0), LEFT, UP, FRONT * 350, None, 4)
    for front in (330, 420, 510, 600):
        s.extrude(rectangle(212, 218, (0, -4), 30, 4), (0, front, 0), LEFT, UP, FRONT * 8, None, 2)
    s.extrude(rectangle(150, 22, (0, 108), 5), (0, 345, 0), LEFT, UP, FRONT * 250, "cast_alloy_dark", 2)
    for front in (362, 470, 578):
        for side in (62, -62):
            _bolt_head(s, (side, front, 119), UP, 13, 5.3)
    s.extrude(rectangle(236, 232, (0, -4), 40, 5), (0, 288, 0), LEFT, UP, FRONT * 16, None, 2)
    s.lathe([(95, 288), (92, 270), (84, 240), (82, 60), (83, 24), (87, 15), (122, 15), (123.5, 13.5), (123.5, 1.5),
             (122, 0), (30, 0)], (0, 0, 0), FRONT, None, 64)
    for i in range(8):
        angle = 45 * i
        left, up = place_on_circle(angle, 84)
        out = LEFT * math.cos(math.radians(angle)) + UP * math.sin(math.radians(angle))
        side = out.cross(FRONT)
        high = [(0, 15), (38.5, 15), (38.5, 80), (8, 140)] if angle in (45, 135) else [(0, 15), (36, 15), (6, 120)]
        s.extrude(high + [(3, 270), (0, 270)], Vector((left, 0, up)) - side * 3.5, out, FRONT, side * 7, None, 1.2)
    for i in range(8):
        left, up = place_on_circle(22.5 + 45 * i, BOLT_CIRCLE)
        s.cylinder((left, 0.5, up), (left, 16, up), 14.5, None, 28, 0.8)
    # boss of the steady rod's stud
    s.extrude(belt((-70, 40), 34, (STEADY_EYE[0], STEADY_EYE[2]), 17, 28), (0, 225, 0), LEFT, UP, FRONT * 26, None, 2)
    # bosses for the brace, right side
    for front in (58, 96):
        s.cylinder((-70, front, -30), (-122, front, -30), 14, None, 24, 1.5)
    s.block((-116, 44, -36), (-70, 110, -24), None, 3)
    # output shaft with its splines, and the two dowels
    teeth = []
    for i in range(22):
        for turn, radius in ((-0.30, 15.4), (-0.20, 17.5), (0.20, 17.5), (0.30, 15.4)):
            angle = 2 * math.pi * (i + turn) / 22
            teeth.append((radius * math.cos(angle), radius * math.sin(angle)))
    s.extrude(teeth, (0, -36, 0), LEFT, UP, FRONT * 40, "machined")
    s.cylinder((0, -38, 0), (0, -36, 0), 14, "machined", 24)
    for angle in (0, 180):
        left, up = place_on_circle(angle, BOLT_CIRCLE)
        s.cylinder((left, -12, up), (left, 4, up), 6, "machined", 20, 1)
    return s


def _bolt_head(s, at, axis, width, height, finish="steel_zinc"):
    """A head that belongs to the unit and is not undone in this job."""
    s.lathe([(width * 0.62, 0), (width * 0.62, 1.2), (width * 0.56, 1.6)], at, axis, finish, 20)
    s.lathe([(width / 2 / 0.866, 1.4), (width / 2 / 0.866, height), (width * 0.475, height + 0.8)], at, axis, finish, 6)


def engine_rear():
    """The engine's rear end, cut off ahead of the cab's bulkhead."""
    s = Solid("cast_iron")
    s.extrude(rectangle(372, 190, (0, 10), 30, 4), (0, 801, 0), LEFT, UP, FRONT * 150, None, 4, 2)
    s.extrude(rectangle(330, 14, (0, 106), 4), (0, 803, 0), LEFT, UP, FRONT * 150, None, 1.5)
    s.extrude(rectangle(300, 84, (0, 150), 10), (0, 806, 0), LEFT, UP, FRONT * 147, "cast_alloy", 3)
    s.extrude(rectangle(250, 46, (0, 212), 16), (0, 812, 0), LEFT, UP, FRONT * 141, "steel_dark", 5, 2)
    for left in (-150, 150):
        for front in (830, 880, 930):
            s.cylinder((left, front, 112), (left, front, 122), 8, "steel_dark", 6, 1)
    s.extrude(rectangle(250, 90, (-42, -120), 20, 3), (0, 802, 0), LEFT, UP, FRONT * 146, "steel_dark", 4)
    s.extrude(rectangle(360, 10, (0, -78), 3), (0, 800.5, 0), LEFT, UP, FRONT * 150, None, 1.5)
    return s


def axle_nose(left, front, up, towards):
    """Pinion nose, its flange looking `towards` (+1 front, -1 rear) along the shaft; a piece of axle behind."""
    s = Solid("cast_iron")
    ahead = FRONT * towards
    at = (left, front, up)
    s.lathe([(24, 0), (56, 0), (57, -1), (57, -11), (56, -12), (32, -13), (30, -30), (44, -34), (46, -60), (62, -90),
             (88, -130)], at, ahead, None, 40)
    centre = (left, front - towards * 205, up)
    s.ball(centre, 122, None, 32)
    s.lathe([(118, 0), (126, 2), (126, 12), (118, 14)], (left, front - towards * 212, up), ahead, None, 40)
    s.cylinder((-560, front - towards * 212, up), (560, front - towards * 212, up), 42, None, 32)
    for side in (1, -1):
        s.lathe([(78, 0), (60, 40), (42, 90)], (left + side * 95, front - towards * 212, up), LEFT * side, None, 32)
    return s


def front_pipe():
    s = Solid("exhaust_steel")
    left, up = EXHAUST
    s.sweep(
        bent([(-232, 880, 60), (-232, 830, -50), (-232, 700, -90), (left, 560, up), (left, EXHAUST_FLANGE, up)], 90, 7),
        25, None, 24, 2)
    s.join(pipe_flange(EXHAUST_FLANGE, 12))
    for stud_left, stud_up in EXHAUST_STUDS:
        s.lathe([(4.2, 0), (5, 1), (5, 50), (4.2, 51)], (stud_left, EXHAUST_FLANGE - 33, stud_up), FRONT, "steel_dark",
                16)
    return s


def pipe_flange(front, thick):
    left, up = EXHAUST
    s = Solid("exhaust_steel")
    outline = []
    for angle in (90, 210, 330):
        for turn in range(-60, 61, 15):
            a = math.radians(angle + turn)
            b = math.radians(angle)
            outline.append((left + EXHAUST_CIRCLE * math.cos(b) + 12 * math.cos(a),
                            up + EXHAUST_CIRCLE * math.sin(b) + 12 * math.sin(a)))
    ring = Solid("exhaust_steel").extrude(outline, (0, front, 0), LEFT, UP, FRONT * thick, None, 1)
    ring.cut(Solid("exhaust_steel").cylinder((left, front - 5, up), (left, front + thick + 5, up), 23, None, 24))
    return s.join(ring)


def tail_pipe():
    s = Solid("exhaust_steel")
    left, up = EXHAUST
    s.sweep(bent([(left, -790, up), (left, -870, up), (left - 10, -950, -50), (left - 10, -1085, -50)], 60, 6), 25,
            None, 28, 1.6)
    s.sweep(bent([(-400, -860, -RAIL_HALF), (-400, -860, -95), (left - 22, -860, up + 10)], 15), 5, "steel_dark", 10)
    return s
