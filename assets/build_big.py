"""Builds transfer_box.glb: a made-up light 4x4's transfer box comes out. See README.md here.

    blender -b --factory-startup -P assets/build_big.py

Widths across flats are ISO 272 for ISO 4014/4017/4032/7042 and EN 1665 / ISO 4161 for flanged ones, hexagon keys
ISO 4762; the plugs are DIN 908. Torques, masses and amounts are invented for this demo.
"""
import math
import os
import sys

HERE = os.path.dirname(os.path.abspath(__file__))
sys.path.insert(0, HERE)
sys.dont_write_bytecode = True

import big_unit as unit
import big_vehicle as stays
import hardware as hw
from scene import Map
from solids import DOWN, FRONT, LEFT, REAR, RIGHT, UP, Vector

STRIP = """
chock_wheels soak_nuts battery_off raise_vehicle check_stands
skid_bolts skid_plate
prove_fill_plug drain_plug fill_plug drain_box level_plug
free_shafts mark_front_shaft mark_rear_shaft hold_shafts
front_shaft_axle_bolts front_shaft_box_joints front_shaft
shaft_loop_bolts shaft_loop rear_shaft_axle_bolts rear_shaft_box_tabs rear_shaft_box_joints rear_shaft
tail_clamp exhaust_nuts exhaust_hangers exhaust_run exhaust_gasket
heat_shield_bolts heat_shield
mark_shift_rod shift_split_pins shift_pins shift_rod
connectors harness_clips harness breather_clips breather_hose
canister_bolts canister
tail_brace_bolts tail_brace
lever_bracket_joints lever_bracket
steady_split_pin break_taper steady_castle_nut steady_stack steady_rod
brake_cable_clip brake_cable
prop_box prop_tail
mount_lower_nuts crossmember_bolts crossmember gearbox_tail
adapter_bolts adapter_bolt_behind_flange adapter_bolt_in_the_gap adapter_upper_bolts
clear_drop_path transfer_box recheck_stands adapter_gasket
mount_upper_nuts mounts switch_screws neutral_switch sensor_bolt speed_sensor bracket_bolt harness_bracket
damper_bolts mass_damper
""".split()
STEP = {name: number for number, name in enumerate(STRIP)}

CAUTION = "; ".join([
    "Never under a vehicle that stands on a jack alone: axle stands on hard level ground, wheels on the ground chocked",
    "Look at stands and chocks again after a heavy unit is out: the weight has shifted",
    "Before anything is lowered: drop path clear, hands and feet out of the gap",
    "A hot exhaust burns: begin with it cold",
    "Eye protection under the car: rust and oil fall",
    "No heat and no flame near fuel, its vapour or rubber",
    "Nothing is ever hung by a brake hose or by its wiring",
    "Brakes, fuel system and airbag are not part of this job: leave them alone",
    "The vehicle maker's manual comes first: every figure here is invented for this demo",
])

m = Map(job="Transfer box out and back", vehicle="Model K light 4x4 (made up)", target="transfer_box", caution=CAUTION,
        source="invented for this demo")


def bolts(places, group, stem, mesh, axis, first=1, **keys):
    """One fastener a place, named stem_1, stem_2 ..."""
    for number, at in enumerate(places, first):
        own = {k: (v(number) if callable(v) else v) for k, v in keys.items()}
        m.fastener(f"{stem}_{number}", mesh, at, axis, group, **own)


def on_circle(centre, radius, angles, front):
    return [(centre[0] + radius * math.cos(math.radians(a)), front, centre[1] + radius * math.sin(math.radians(a)))
            for a in angles]


# ---- what stays -----------------------------------------------------------------------------------------------------

m.part("frame", "Frame", stays.frame(), fixed=True)
m.part("floor", "Floor and tunnel", stays.floor(), fixed=True)
m.part("engine", "Engine, rear end", stays.engine_rear(), (0, 870, 0), fixed=True)
m.part("front_axle", "Front axle", stays.axle_nose(185, 850, -180, -1), (185, 850, -180), fixed=True)
m.part("rear_axle", "Rear axle", stays.axle_nose(0, -990, -170, 1), (0, -990, -170), fixed=True)
m.part("front_pipe", "Front exhaust pipe", stays.front_pipe(), (-260, 412, -150), fixed=True)
m.part("tail_pipe", "Tail pipe", stays.tail_pipe(), (-260, -790, -150), fixed=True)
m.part("gearbox_tail", "Gearbox tail", stays.gearbox_tail(), (0, 0, 0), step=STEP["gearbox_tail"], lower="50 mm",
       support="jack", carried_by="crossmember_long_bolts;crossmember_short_bolts;mount_lower_nuts",
       after="crossmember;steady_rod;lever_bracket;exhaust_run", people=2, **{"from": "under"},
       caution="The engine and gearbox tip on their front mounts: watch the fan, the hoses and the hand lever as it goes down",
       note="Stays in the vehicle, but nothing holds its rear end once the crossmember is off. Let both jacks down together, 50 mm "
            "and no more, for the two upper bolts")

# ---- the unit -------------------------------------------------------------------------------------------------------

m.part("transfer_box", "Transfer box", unit.transfer_box(), (60, -130, -20), step=STEP["transfer_box"], mass_kg=46.0,
       support="jack", carried_by="mount_lower_nuts;mount_upper_nuts;crossmember_long_bolts;crossmember_short_bolts;adapter_bolts;"
       "adapter_upper_bolts",
       way="rear 40 mm; down 600 mm", fluid="gear oil, grade as the manual states", amount_l=1.4, opens="transfer_box",
       lift_point="case bottom between the feet, on a wide saddle with a strap round (invented for this demo)",
       after="canister;harness;breather_hose;shift_rod;tail_brace;brake_cable;heat_shield;clear_drop_path",
       refit_after="count_dowels;line_up_splines", people=2, needs="neutral", **{"from": "under"},
       caution="46 kg: one at the jack, one to steady it; nobody's hands between the flanges; nobody beneath it",
       note="Straight back off the input shaft's splines, 40 mm, then down. Never let it hang on the input shaft",
       refit_note="Slide it on by hand; never draw it up with the bolts: if it stops, turn an output flange")
m.part("adapter_gasket", "Gasket, tail to transfer box", unit.adapter_gasket(), (0, 0, 0), step=STEP["adapter_gasket"], renew=True,
       after="transfer_box", **{"from": "under"}, refit_note="New gasket, faces clean and dry")
m.part("crossmember", "Crossmember", unit.crossmember(), (60, -130, -150), step=STEP["crossmember"], mass_kg=11.0,
       way="down 500 mm", after="exhaust_run;skid_plate", people=2, **{"from": "under"},
       caution="The gearbox tail drops with it unless it has a prop of its own",
       note="Both props take the weight before the first nut is slackened")
for side, left in stays.MOUNTS.items():
    m.part(f"mount_{side}", f"Rubber mount, {side}", unit.mount(left), (left, -130, -165), step=STEP["mounts"], transfer=True,
           way="down 60 mm", note="Goes over to the replacement unit, if its rubber is sound")
m.part("neutral_switch", "Neutral switch", unit.neutral_switch(), tuple(unit.SWITCH_AT), step=STEP["neutral_switch"], transfer=True,
       opens="transfer_box", way="up 40 mm", note="On the bench: goes over to the replacement unit")
m.part("speed_sensor", "Speed sensor", unit.speed_sensor(), tuple(unit.SENSOR_AT), step=STEP["speed_sensor"], transfer=True,
       opens="transfer_box", way="right 40 mm", note="On the bench: goes over to the replacement unit")
m.part("harness_bracket", "Harness bracket", unit.harness_bracket(), (36, -60, 140), step=STEP["harness_bracket"], transfer=True,
       way="up 40 mm", note="On the bench: goes over to the replacement unit")
m.part("mass_damper", "Mass damper", unit.mass_damper(), (140, -243, -45), step=STEP["mass_damper"], transfer=True, mass_kg=0.9,
       way="rear 60 mm", note="On the bench: goes over to the replacement unit")

# ---- round about it -------------------------------------------------------------------------------------------------

m.part("skid_plate", "Skid plate", unit.skid_plate(), (0, -40, -226), step=STEP["skid_plate"], mass_kg=7.5, way="down 400 mm",
       **{"from": "under"}, note="Hides the drain plug and the crossmember's access holes")
for end, title, start, stop, slip in (
        ("front", "Front propeller shaft", (150, unit.FRONT_FLANGE, -60), (185, 850, -180), True),
        ("rear", "Rear propeller shaft", (0, unit.REAR_FLANGE, 0), (0, -990, -170), False)):
    m.part(f"{end}_shaft", title, unit.propeller_shaft(start, stop, slip), start, step=STEP[f"{end}_shaft"],
           mass_kg=6.5 if end == "front" else 8.0, turns="+z", adjust="flange to flange, paint marks on both ends",
           after="drain_box" + (";shaft_loop" if end == "rear" else ""),
           way="down 400 mm", **{"from": "under"}, caution="It drops at one end: hold it, never let it hang on one joint",
           note="To bring the bolts round: neutral, parking brake off, turn by hand; brake on again to slacken")
m.part("shaft_loop", "Loop under the rear shaft", unit.shaft_loop(), (0, -450, -20), step=STEP["shaft_loop"], way="down 300 mm",
       **{"from": "under"})
m.part("exhaust_run", "Exhaust, middle run with silencer", unit.exhaust_run(), (-260, -200, -150), step=STEP["exhaust_run"], mass_kg=9.0,
       way="rear 36 mm; down 400 mm", **{"from": "under"}, caution="Cold exhaust only")
m.part("exhaust_gasket", "Exhaust gasket", unit.exhaust_gasket(), (-260, 410, -150), step=STEP["exhaust_gasket"], renew=True,
       way="rear 40 mm; down 300 mm", after="exhaust_run", **{"from": "under"})
m.part("heat_shield", "Heat shield", unit.heat_shield(), (-290, -425, -80), step=STEP["heat_shield"], way="down 300 mm",
       after="exhaust_run", **{"from": "under"}, caution="Sharp edges: gloves")
m.part("canister", "Vapour canister", unit.canister(), stays.CANISTER, step=STEP["canister"], aside="up 15 mm; right 40 mm; rear 230 mm",
       hang_from="a wire hook over the frame's rear brace", tether="canister_hose", **{"from": "left"},
       caution="Fuel vapour: no flame, no grinder, no lamp that gets hot",
       note="Lift it off its slackened bolts; the hose stays on")
m.part("canister_hose", "Canister hose", unit.hose([(292, -233, 40), (292, -233, 71), (300, -140, 70), (345, 140, 56), (350, 560, 30), (424, 640, 10)], 8),
       (292, -233, 50), flexible=True)
m.part("breather_hose", "Breather hose", unit.hose([(0, -165, 108), (0, -165, 186), (0, -90, 222), (0, 160, 224), (40, 300, 210)], 6.5),
       (0, -165, 120), step=STEP["breather_hose"], flexible=True, aside="front 80 mm; up 20 mm",
       hang_from="a tie on the tunnel", **{"from": "under"}, note="Plug it: a cap on the nipple too")
m.part("harness", "Harness branch", unit.hose([(152, -85, 160), (150, -60, 176), (95, -60, 164), (70, -60, 166), (40, -150, 160), (-60, -225, 118),
                                               (-124, -262, 40), (-127, -268, 12)], 5, 45).join(
    unit.hose([(137, -85, 132), (152, -85, 160), (172, 0, 168), (178, 160, 160), (178, 440, 160), (198, 500, 160)], 6, 45)),
       (150, -60, 160), step=STEP["harness"], flexible=True, aside="front 120 mm; up 40 mm",
       hang_from="a tie to the front clip on the tunnel, never by its plugs", **{"from": "under"})
m.part("shift_rod", "Shift rod", unit.shift_rod(), (-118, 40, 112), step=STEP["shift_rod"], adjust="length of the rod between its pins",
       way="right 50 mm; down 200 mm", **{"from": "under"}, note="Leave its lock nuts alone: the length is the setting")
m.part("lever_bracket", "Lever bracket", unit.lever_bracket(), (-118, 110, 200), step=STEP["lever_bracket"], way="down 40 mm; right 36 mm; down 300 mm",
       after="shift_rod;tail_brace", **{"from": "under"}, note="The hand lever stays with the floor")
m.part("steady_rod", "Steady rod", unit.steady_rod(), (-235, 198, 40), step=STEP["steady_rod"], way="rear 56 mm; down 300 mm",
       **{"from": "under"}, note="Must come apart before the tail can go down")
m.part("tail_brace", "Brace, tail to transfer box", unit.tail_brace(), (-125, -57, -30), step=STEP["tail_brace"], way="right 40 mm; front 220 mm; down 250 mm",
       refit_after="fill_oil;level_oil;rear_shaft_box_bolts", refit_free="brake_cable;mount_lower_nuts", **{"from": "under"},
       refit_note="Last of all on the unit: with the brace on the filling hose does not reach, and the shaft's bolts first draw the box "
                  "into line")
m.part("brake_cable", "Parking brake cable", unit.hose([(338, -60, 82), (338, -186, 50), (338, -184, -160), (300, -420, -190), (245, -1000, -170), (240, -1170, -165)],
                                                       6, 60), (338, -184, -150), step=STEP["brake_cable"], flexible=True,
       aside="left 40 mm; up 60 mm", hang_from="a strap to the left rail", **{"from": "left"},
       note="Only its clip is undone: the cable stays connected and the brake stays usable")

# ---- fasteners: skid plate, plugs -----------------------------------------------------------------------------------

g = m.group("skid_bolts", "Skid plate bolts", 6, step=STEP["skid_bolts"], fastener="bolt", thread="M8", length_mm=25, head="hex_flange",
            drive="hex 13", grade="8.8", torque="22 N·m", holds="skid_plate;frame", **{"from": "under"})  # EN 1665
bolts(unit.SKID_EARS, g, "skid_bolt", hw.flange_bolt(8, 25), DOWN)
bolts(unit.SKID_REAR, g, "skid_bolt", hw.flange_bolt(8, 25), DOWN, 5, holds="skid_plate;crossmember")

g = m.group("plugs", "Plugs of the transfer box", 6, holds="transfer_box", renew=None, **{"from": "under"})  # DIN 908, DIN 7603
for name, title, at, axis, torque in (("fill", "fill_plug", unit.FILL_PLUG, RIGHT, "30 N·m"), ("level", "level_plug", unit.LEVEL_PLUG, REAR, "30 N·m"),
                                      ("drain", "drain_plug", unit.DRAIN_PLUG, DOWN, "35 N·m")):
    at = Vector(at)
    keys = dict(step=STEP[f"{name}_plug"], joint=f"{name}_plug")
    m.fastener(f"{name}_ring", hw.sealing_ring(22), at, axis, g, fastener="washer", stack=1, renew=True, drive="none", **keys)
    m.fastener(f"{name}_plug", hw.plug(22), at + axis * 1.5, axis, g, fastener=title, stack=2, thread="M22x1.5", length_mm=14, head="cap",
               drive="socket 10", torque=torque, turn="head",
               after={"drain": "skid_plate;prove_fill_plug", "fill": None, "level": None}[name],
               refit_after={"drain": None, "fill": "fill_oil;level_oil", "level": "level_oil"}[name],
               caution={"drain": "Hot oil scalds: only when cool; tray ready before it opens", "fill": None, "level": None}[name],
               refit_note="New sealing ring", **keys)

# ---- propeller shafts -----------------------------------------------------------------------------------------------

QUARTERS = (45, 135, 225, 315)
front, rear = unit.FRONT_FLANGE, unit.REAR_FLANGE
held = dict(needs="brake on", counter="brake", **{"from": "under"})

g = m.group("front_shaft_axle_bolts", "Front shaft to front axle", 4, step=STEP["front_shaft_axle_bolts"], fastener="bolt", thread="M10x1.25",
            length_mm=25, head="hex", drive="hex 16", grade="10.9", torque="64 N·m", pattern="star", passes=2, lock="medium",
            holds="front_shaft;front_axle", after="mark_front_shaft;drain_box", held_through="front_shaft;rear_shaft",
            note="Transfer lever in four-wheel drive: the rear shaft's brake then holds this one too", **held)
bolts(on_circle((185, -180), 40, QUARTERS, 850 - 10.5), g, "front_axle_bolt", hw.hex_bolt(10, 25), REAR)
g = m.group("front_shaft_box_bolts", "Front shaft to box, bolts", 4, step=STEP["front_shaft_box_joints"], fastener="bolt", thread="M10x1.25",
            length_mm=40, head="hex", drive="hex 16", grade="10.9", holds="front_shaft;transfer_box", stack=1, turn="nut",
            after="mark_front_shaft;drain_box", note="Heads behind the flange, held with a ring spanner", **{"from": "under"})
bolts(on_circle((150, -60), 40, QUARTERS, front - 12), g, "front_box_bolt", hw.hex_bolt(10, 40), REAR, joint=lambda n: f"front_box_{n}")
g = m.group("front_shaft_box_nuts", "Front shaft to box, self-locking nuts", 4, step=STEP["front_shaft_box_joints"], fastener="nut",
            thread="M10x1.25", drive="hex 16", grade="10", renew=True, torque="64 N·m", pattern="star", passes=2,
            holds="front_shaft;transfer_box", stack=2, turn="nut", after="mark_front_shaft;drain_box", counter="hex 16",
            needs="brake on", held_through="rear_shaft", **{"from": "under"})
bolts(on_circle((150, -60), 40, QUARTERS, front + 10.5), g, "front_box_nut", hw.lock_nut(10), FRONT, joint=lambda n: f"front_box_{n}")

g = m.group("rear_shaft_axle_bolts", "Rear shaft to rear axle", 4, step=STEP["rear_shaft_axle_bolts"], fastener="bolt", thread="M10x1.25",
            length_mm=25, head="hex", drive="hex 16", grade="10.9", torque="64 N·m", pattern="star", passes=2, lock="medium",
            holds="rear_shaft;rear_axle", after="mark_rear_shaft;drain_box", held_through="rear_shaft", **held)
bolts(on_circle((0, -170), 40, QUARTERS, -990 + 10.5), g, "rear_axle_bolt", hw.hex_bolt(10, 25), FRONT)
g = m.group("rear_shaft_box_tabs", "Tab plates of the rear shaft's bolts", 2, step=STEP["rear_shaft_box_tabs"], fastener="tab", drive="pliers", renew=True,
            holds="rear_shaft", **{"from": "under"}, note="Bend the tabs flat", refit_note="The new plates went under the heads with the bolts: bend one tab a head, now")
for n, (up, spin) in enumerate(((28.28, 0), (-28.28, 180)), 1):
    m.fastener(f"rear_box_tab_{n}", hw.tab_plate(56.57, 11), (0, rear - 10.5, up), REAR, g, spin,
               secures=f"rear_box_bolt_{1 if n == 1 else 3};rear_box_bolt_{2 if n == 1 else 4}")
g = m.group("rear_shaft_box_bolts", "Rear shaft to box", 4, step=STEP["rear_shaft_box_joints"], fastener="bolt", thread="M10x1.25", length_mm=25, head="hex",
            drive="hex 16", grade="10.9", torque="64 N·m", pattern="star", passes=2, holds="rear_shaft;transfer_box",
            after="mark_rear_shaft;drain_box", needs="in gear", counter="gear", held_through="gearbox_tail",
            note="With the axle end free the brake no longer holds: a gear does", **{"from": "under"})
bolts(on_circle((0, 0), 40, QUARTERS, rear - 11.3), g, "rear_box_bolt", hw.hex_bolt(10, 25), REAR)
g = m.group("shaft_loop_bolts", "Bolts of the shaft loop", 2, step=STEP["shaft_loop_bolts"], fastener="bolt", thread="M8", length_mm=20,
            head="hex_flange", drive="hex 13", grade="8.8", torque="22 N·m", holds="shaft_loop;frame", **{"from": "under"})
bolts([(-90, -450, 36.5), (90, -450, 36.5)], g, "shaft_loop_bolt", hw.flange_bolt(8, 20), DOWN)

# ---- exhaust, heat shield -------------------------------------------------------------------------------------------

g = m.group("exhaust_nuts", "Exhaust flange, self-locking nuts", 3, step=STEP["exhaust_nuts"], fastener="nut", thread="M10x1.25",
            drive="hex 16", renew=True, torque="38 N·m", soak_min=15, holds="exhaust_run;front_pipe;exhaust_gasket", condition="dry",
            after="soak_nuts", caution="Cold exhaust only; rust falls: eyes", **{"from": "under"})  # ISO 7042 on studs
bolts([(a, stays.EXHAUST_FLANGE - 14, b) for a, b in stays.EXHAUST_STUDS], g, "exhaust_nut", hw.lock_nut(10), REAR)
g = m.group("exhaust_hangers", "Exhaust rubbers", 3, step=STEP["exhaust_hangers"], fastener="hanger", drive="hand",
            holds="exhaust_run;frame", note="A little soapy water, never oil; leave the middle one to last", **{"from": "under"})
bolts([(a, f + 22, -104) for a, f in stays.HANGERS], g, "exhaust_hanger", hw.rubber_hanger(50, 10), FRONT)
m.fastener("tail_clamp", hw.sleeve_clamp(51, 84), (-260 + 36.5, -769, -161), DOWN, None, fastener="clamp", thread="M8", drive="hex 13",
           holds="exhaust_run;tail_pipe", step=STEP["tail_clamp"], soak_min=15, after="soak_nuts", **{"from": "under"})
g = m.group("heat_shield_bolts", "Heat shield bolts", 4, step=STEP["heat_shield_bolts"], fastener="bolt", thread="M6", length_mm=16,
            head="hex_flange", drive="hex 10", grade="8.8", holds="heat_shield;frame", torque="9 N·m", after="exhaust_run", **{"from": "under"})
bolts(stays.SHIELD_BOLTS, g, "heat_shield_bolt", hw.flange_bolt(6, 16), DOWN)

# ---- linkage, wiring, breather, canister ----------------------------------------------------------------------------

PINS = {"front": unit.PIN_FRONT, "rear": unit.PIN_REAR}
g = m.group("shift_split_pins", "Split pins of the shift rod", 2, step=STEP["shift_split_pins"], fastener="split_pin", drive="pliers", renew=True,
            holds="shift_rod", **{"from": "under"})  # ISO 1234, 2x16 for an 8 mm pin
for end, at in PINS.items():
    m.fastener(f"shift_split_pin_{end}", hw.split_pin(2, 16), (-136.5, at[1], at[2] + 4.2), UP, g, secures=f"shift_pin_{end}")
g = m.group("shift_pins", "Pins of the shift rod", 2, step=STEP["shift_pins"], fastener="pin", drive="hand", length_mm=26, condition="greased",
            **{"from": "under"})  # ISO 2341, 8 mm
for end, at in PINS.items():
    m.fastener(f"shift_pin_{end}", hw.clevis_pin(8, 26), (-114, at[1], at[2]), LEFT, g,
               holds="shift_rod;lever_bracket" if end == "front" else "shift_rod;transfer_box")
g = m.group("connectors", "Wiring plugs", 2, step=STEP["connectors"], fastener="connector", drive="hand", after="battery_off", **{"from": "under"},
            note="Press the tab, pull the plug and never the wire")
m.fastener("switch_connector", hw.connector(), unit.SWITCH_AT + unit.SWITCH_AXIS * 46, unit.SWITCH_AXIS, g, holds="harness;neutral_switch")
m.fastener("sensor_connector", hw.connector(), unit.SENSOR_AT + RIGHT * 40, RIGHT, g, holds="harness;speed_sensor")
g = m.group("harness_clips", "Clips of the harness", 3, step=STEP["harness_clips"], fastener="clip", drive="pliers", **{"from": "under"})
m.fastener("harness_clip_1", hw.snap_clip(10), (66, -60, 154), LEFT, g, holds="harness;harness_bracket")
m.fastener("harness_clip_2", hw.snap_clip(12), (188, 180, 160), RIGHT, g, 90, holds="harness;floor")
m.fastener("harness_clip_3", hw.snap_clip(12), (188, 360, 160), RIGHT, g, 90, holds="harness;floor")
g = m.group("breather_clips", "Clips of the breather hose", 2, step=STEP["breather_clips"], **{"from": "under"})
m.hose_clip("breather_hose_clip", hw.hose_clip(13), hw.hose_clip_reach(13), (0, -165, 120), UP, REAR, g, fastener="clamp", drive="hex 7", holds="breather_hose;transfer_box",
           note="Above the box, under the tunnel: found by feel from behind")
m.fastener("breather_floor_clip", hw.pipe_clip(13), (0, 60, 236), DOWN, g, fastener="clip", thread="M6", drive="hex 10", holds="breather_hose;floor")
g = m.group("canister_bolts", "Canister bracket bolts", 2, step=STEP["canister_bolts"], fastener="bolt", thread="M8", length_mm=20,
            head="hex_flange", drive="hex 13", grade="8.8", torque="22 N·m", frees_when="slack", holds="canister;frame", **{"from": "left"},
            note="Two turns only: the bracket is slotted and lifts off")
bolts([(362, stays.CANISTER[1] + o, stays.CANISTER[2] - 6) for o in (60, -60)], g, "canister_bolt", hw.flange_bolt(8, 20), RIGHT)

# ---- lever bracket: bolts from under, nuts in the cab ---------------------------------------------------------------

g = m.group("lever_bracket_bolts", "Lever bracket bolts", 2, step=STEP["lever_bracket_joints"], fastener="bolt", thread="M8", length_mm=20,
            head="hex_flange", drive="hex 13", grade="8.8", torque="22 N·m", holds="lever_bracket;floor", counter="hex 13", counter_from="inside",
            stack=2, turn="head", people=2, **{"from": "under"})
bolts(unit.LEVER_BOLTS, g, "lever_bracket_bolt", hw.flange_bolt(8, 20), DOWN, joint=lambda n: f"lever_bracket_{n}")
g = m.group("lever_bracket_nuts", "Lever bracket nuts, in the cab", 2, step=STEP["lever_bracket_joints"], fastener="nut", thread="M8",
            drive="hex 13", holds="lever_bracket;floor", stack=1, turn="head", people=2, **{"from": "inside"},
            note="On the tunnel, beneath the carpet behind the hand lever")
bolts([(a, b, 238) for a, b, _ in unit.LEVER_BOLTS], g, "lever_bracket_nut", hw.flange_nut(8), UP, joint=lambda n: f"lever_bracket_{n}")

# ---- steady rod: ball joint, stud with spacer and washers -----------------------------------------------------------

eye, ball = stays.STEADY_EYE, stays.STEADY_BALL
m.fastener("steady_castle_nut", hw.castle_nut(12), (ball[0], ball[1] + 30, ball[2]), FRONT, None, fastener="castle_nut", thread="M12x1.25", drive="hex 18",
           torque="69..78 N·m", slot="onward", holds="steady_rod;frame", step=STEP["steady_castle_nut"], soak_min=15, after="soak_nuts;break_taper",
           **{"from": "under"}, refit_note="Lower figure first, then onward to the next slot, never back")
m.fastener("steady_split_pin", hw.split_pin(3.2, 22), (ball[0], ball[1] + 42.5, ball[2] - 9.0), DOWN, None, fastener="split_pin", drive="pliers", renew=True,
           secures="steady_castle_nut", holds="steady_rod", step=STEP["steady_split_pin"], **{"from": "under"})
g = m.group("steady_stack", "Steady rod to tail: stud and what is on it", 5, step=STEP["steady_stack"], joint="steady_stud",
            holds="steady_rod;gearbox_tail", **{"from": "under"})
face = 225
for name, kind, mesh, at, place, keys in (
        ("steady_stud", "stud", hw.stud(10, 58, 20), face, 1, dict(thread="M10x1.25", captive_in="gearbox_tail", frees_when="nut_off", drive="none")),
        ("steady_spacer", "spacer", hw.spacer(10, 24, 10), face, 2, dict(drive="none")),
        ("steady_washer_1", "washer", hw.washer(10), face - 10, 3, dict(drive="none")),
        ("steady_washer_2", "washer", hw.washer(10), face - 42, 4, dict(drive="none")),
        ("steady_nut", "nut", hw.hex_nut(10), face - 44, 5, dict(thread="M10x1.25", drive="hex 16", grade="8", turn="nut", torque="45 N·m",
                                                               torque_after="wheels down",
                                                               **{"from": "right"}))):
    m.fastener(name, mesh, (eye[0], at, eye[2]), REAR, g, fastener=kind, stack=place, joint="steady_stud", **keys)

# ---- brace, cable, mounts, crossmember ------------------------------------------------------------------------------

g = m.group("tail_brace_bolts", "Brace bolts", 4, step=STEP["tail_brace_bolts"], fastener="bolt", thread="M10x1.25", length_mm=25,
            head="hex_flange", drive="hex 16", grade="8.8", torque="45 N·m", **{"from": "under"})
bolts([(-128, f, -30) for f in (96, 58)], g, "tail_brace_bolt", hw.flange_bolt(10, 25), RIGHT, holds="tail_brace;gearbox_tail")
bolts([(-128, f, -30) for f in (-172, -210)], g, "tail_brace_bolt", hw.flange_bolt(10, 25), RIGHT, 3, holds="tail_brace;transfer_box")
m.fastener("brake_cable_clip", hw.pipe_clip(12), (338, -175, -150), REAR, None, fastener="clip", thread="M6", drive="hex 10",
           holds="brake_cable;crossmember", step=STEP["brake_cable_clip"], **{"from": "under"})
g = m.group("mount_lower_nuts", "Mounts to crossmember, nuts inside it", 4, step=STEP["mount_lower_nuts"], fastener="nut", thread="M10",
            drive="hex 15", torque="42 N·m", after="skid_plate;prop_box;prop_tail", **{"from": "under"},
            note="Inside the crossmember: a socket on an extension through the access holes")  # ISO 4161
n = 1
for side, left in stays.MOUNTS.items():
    bolts([(left + o, -130, -189) for o in (-36, 36)], g, "mount_lower_nut", hw.flange_nut(10), DOWN, n, holds=f"mount_{side};crossmember")
    n += 2
g = m.group("mount_upper_nuts", "Mounts to transfer box", 4, step=STEP["mount_upper_nuts"],
            note="On the bench, mounts to the replacement unit",
            refit_note="Run down on the bench, tightened last of all, on the wheels, with a long ring spanner from the side")
for side, left in stays.MOUNTS.items():
    keys = dict(joint=f"mount_{side}", holds=f"mount_{side};transfer_box")
    m.fastener(f"mount_washer_{side}", hw.washer(12), (left, -130, -131), UP, g, fastener="washer", stack=1, drive="none", **keys)
    m.fastener(f"mount_upper_nut_{side}", hw.hex_nut(12), (left, -130, -128.5), UP, g, fastener="nut", stack=2, thread="M12x1.25", drive="hex 18",
               grade="8", turn="nut", torque="60 N·m", torque_after="wheels down", **keys)
for kind, length, f in (("long", 45, -62), ("short", 35, -198)):
    g = m.group(f"crossmember_{kind}_bolts", f"Crossmember bolts, {kind}", 4, step=STEP["crossmember_bolts"], fastener="bolt", thread="M12x1.25",
                length_mm=length, head="hex_flange", drive="hex 18", grade="8.8", torque="85 N·m", holds="crossmember;frame",
                after="prop_box;prop_tail", note=f"{'Front' if kind == 'long' else 'Rear'} row: {length} mm; the rows differ only in length",
                **{"from": "under"})
    bolts([(left, f, -73) for left in (415, 385, -385, -415)], g, f"crossmember_{kind}", hw.flange_bolt(12, length), DOWN)

# ---- transfer box to gearbox tail -----------------------------------------------------------------------------------

place = lambda angle: on_circle((0, 0), stays.BOLT_CIRCLE, [angle], 16)[0]
shared = dict(fastener="bolt", thread="M10x1.25", head="hex_flange", drive="hex 16", grade="8.8", torque="48 N·m", holds="transfer_box;gearbox_tail",
              **{"from": "under"})
g = m.group("adapter_bolts", "Transfer box to gearbox tail", 6, pattern="star", passes="50 %; 100 %", **shared)
for number, angle in enumerate((22.5, 157.5, 247.5, 292.5), 1):
    m.fastener(f"adapter_bolt_{number}", hw.flange_bolt(10, 40), place(angle), FRONT, g, length_mm=40, step=STEP["adapter_bolts"])
m.fastener("adapter_bolt_behind_flange", hw.flange_bolt(10, 40), place(337.5), FRONT, g, length_mm=40,
           step=STEP["adapter_bolt_behind_flange"], after="front_shaft",
           note="Behind the front output flange: a long extension past the flange's edge")
at = place(202.5)
m.fastener("adapter_bolt_in_the_gap", hw.flange_bolt(10, 40), (at[0], -16, at[2]), REAR, g, length_mm=40, step=STEP["adapter_bolt_in_the_gap"],
           leaves_with="transfer_box", after="tail_brace",
           note="Put in from the box's side: undone, it cannot be drawn, the case is behind its head; it comes out with the box",
           refit_note="Put it in its hole before the box goes up")
g = m.group("adapter_upper_bolts", "Transfer box to gearbox tail, the two upper ones", 2, step=STEP["adapter_upper_bolts"], length_mm=60,
            after="gearbox_tail", note="Hidden above, beneath the tunnel: reached only with the tail 50 mm down. Longer than the others",
            **shared)
bolts([place(67.5), place(112.5)], g, "adapter_upper_bolt", hw.flange_bolt(10, 60), FRONT)

# holes that no fastener of the map goes through: dowels, the mounts' and the exhaust's studs
for angle in (0, 180):
    at = on_circle((0, 0), stays.BOLT_CIRCLE, [angle], 0)[0]
    m.hole("transfer_box;adapter_gasket", Vector(at) + FRONT * 2, Vector(at) + REAR * 14, 6.4)
for left in stays.MOUNTS.values():
    m.hole("transfer_box", (left, -130, -150), (left, -130, -120), 6.6)
    for o in (-36, 36):
        m.hole("crossmember", (left + o, -130, -182), (left + o, -130, -195), 5.6)
for left, up in stays.EXHAUST_STUDS:
    m.hole("exhaust_run;exhaust_gasket", (left, 390, up), (left, 414, up), 5.6)

# ---- on the bench ---------------------------------------------------------------------------------------------------

g = m.group("switch_screws", "Screws of the neutral switch", 2, step=STEP["switch_screws"], fastener="screw", thread="M6", length_mm=16, head="cap",
            drive="socket 5", grade="8.8", torque="9 N·m", holds="neutral_switch;transfer_box", after="transfer_box")  # ISO 4762
bolts([unit.SWITCH_AT + FRONT * o + unit.SWITCH_AXIS * 6 for o in (17, -17)], g, "switch_screw", hw.cap_screw(6, 16), unit.SWITCH_AXIS)
m.fastener("sensor_bolt", hw.flange_bolt(6, 16), unit.SENSOR_AT + FRONT * 22 + RIGHT * 5, RIGHT, None, fastener="bolt", thread="M6", length_mm=16,
           head="hex_flange", drive="hex 10", grade="8.8", holds="speed_sensor;transfer_box", step=STEP["sensor_bolt"], after="transfer_box")
pad = unit.HARNESS_PAD
m.fastener("bracket_bolt", hw.flange_bolt(6, 16), (pad[0], pad[1], 141.5), UP, None, fastener="bolt", thread="M6", length_mm=16, head="hex_flange",
           drive="hex 10", grade="8.8", torque="9 N·m", holds="harness_bracket;transfer_box", step=STEP["bracket_bolt"], after="transfer_box")
g = m.group("damper_bolts", "Bolts of the mass damper", 2, step=STEP["damper_bolts"], fastener="bolt", thread="M10x1.25", length_mm=55, head="hex",
            drive="hex 16", grade="8.8", torque="48 N·m", holds="mass_damper;transfer_box", after="transfer_box")
bolts([(124, -261, -45), (156, -261, -45)], g, "damper_bolt", hw.hex_bolt(10, 55), REAR)

# ---- tasks ----------------------------------------------------------------------------------------------------------


def task(name, title, at=None, **keys):
    m.task(name, title, step=STEP[at or name], **keys)


task("chock_wheels", "Hard level ground, wheels chocked, parking brake on", gate=True, sets="chocked; brake on", when="strip")
task("soak_nuts", "Penetrating oil on the exhaust nuts, the tail clamp and the castle nut", does="soak",
     to="exhaust_nuts;tail_clamp;steady_castle_nut", needs="wheels down; chocked", **{"from": "right"},
     caution="Exhaust cold; no flame near the spray")
task("battery_off", "Battery: negative lead off", sets="battery off", **{"from": "front"})
task("raise_vehicle", "Raise it and set it down on four stands, high enough for the box to pass beneath", sets="stands", gate=True, people=2,
     caution="Never under a jack alone", note="The box needs 600 mm below it")
task("check_stands", "Stands and chocks checked: push the vehicle by hand, each stand square and loaded", gate=True, needs="stands; chocked")
task("prove_fill_plug", "Prove the fill plug loose, then nip it again: no filling, no draining", does="prove", to="fill_plug", **{"from": "under"})
task("drain_box", "Drain the transfer box into a tray, note how much came", does="drain", to="transfer_box", after="drain_plug;fill_plug",
     **{"from": "under"}, caution="Oil on the floor: wipe it up at once")
task("free_shafts", "Gear levers in neutral, parking brake off: shafts turn by hand", sets="neutral; brake off", needs="chocked", gate=True,
     **{"from": "inside"}, caution="Only with all chocks in place and nobody beneath")
for end in ("front", "rear"):
    task(f"mark_{end}_shaft", f"Mark the {end} shaft's flanges, each to its mate, and the sliding joint", does="mark", to=f"{end}_shaft",
         needs="neutral; brake off", **{"from": "under"}, note="Turn the shaft by hand until the old marks or a clean place come down")
task("hold_shafts", "Parking brake on, a gear in: shafts held", sets="in gear; brake on", **{"from": "inside"})
task("mark_shift_rod", "Measure the shift rod between its pins and write it down; mark the lock nuts", does="mark", to="shift_rod",
     **{"from": "under"})
task("break_taper", "Castle nut back by two turns, then break the ball joint's taper with a puller", gate=True, after="steady_split_pin",
     **{"from": "under"}, caution="It lets go with a bang: eye protection, face away; no hammer on the thread, no heat near the boot")
task("prop_box", "Transmission jack under the box, strapped, just carrying", does="prop", to="transfer_box", gate=True, people=2, **{"from": "under"})
task("prop_tail", "Second jack under the gearbox tail, wood between, just carrying", does="prop", to="gearbox_tail", gate=True, people=2,
     **{"from": "under"})
task("clear_drop_path", "Look round the box: nothing still on it; drop path clear, hands out of the gap", gate=True, sets="neutral",
     **{"from": "under"})
task("recheck_stands", "Stands and chocks again: the weight has shifted", gate=True, needs="stands", people=1)
# on the way back
task("count_dowels", "Count the dowels: two, in the tail, clean and undamaged", "transfer_box", when="refit", gate=True, **{"from": "under"})
task("line_up_splines", "Line up the splines: a gear in, turn the rear output flange by hand", "transfer_box", when="refit", **{"from": "under"},
     note="A little grease on the splines, none on the faces")
task("fill_oil", "Fill through the fill plug, vehicle level, until it runs from the level hole", "drain_box", when="refit", does="fill",
     to="transfer_box", refit_after="drain_plug;drain_ring;transfer_box", **{"from": "under"})
task("level_oil", "Let it stand, then top up: level with the lower edge of the level hole", "drain_box", when="refit", does="level",
     to="transfer_box", refit_after="fill_oil", gate=True, **{"from": "under"})
task("battery_on", "Battery: negative lead on", "battery_off", when="refit", sets="battery on", **{"from": "front"})
task("set_on_wheels", "Down on its wheels", "raise_vehicle", when="refit", sets="wheels down", people=2, gate=True,
     caution="Nobody beneath; tools and tray out first")
task("try_it", "Turn all shafts through by hand, then a slow trial: leaks, noises, every range of the lever", "chock_wheels", when="refit", gate=True)

m.write(os.path.join(HERE, "transfer_box.glb"))
