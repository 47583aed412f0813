"""The big map's fasteners, first half: skid plate, plugs, shafts, exhaust, linkage, wiring.

Widths across flats are ISO 272 for ISO 4014/4017/4032/7042 and EN 1665 / ISO 4161 for flanged ones, hexagon keys
ISO 4762; the plugs are DIN 908. Torques are invented for this demo.
"""
import math

import big_unit as unit
import big_vehicle as stays
import hardware as hw
from solids import DOWN, FRONT, LEFT, REAR, RIGHT, UP, Vector


def bolts(m, places, group, stem, mesh, axis, first=1, **keys):
    """One fastener a place, named stem_1, stem_2 ..."""
    for number, at in enumerate(places, first):
        own = {k: (v(number) if callable(v) else v) for k, v in keys.items()}
        m.fastener(f"{stem}_{number}", mesh, at, axis, group, **own)


def on_circle(centre, radius, angles, front):
    return [(centre[0] + radius * math.cos(math.radians(a)), front, centre[1] + radius * math.sin(math.radians(a)))
            for a in angles]


QUARTERS = (45, 135, 225, 315)


def put_fasteners(m, step):
    # ---- fasteners: skid plate, plugs -------------------------------------------------------------------------------

    g = m.group("skid_bolts", "Skid plate bolts", 6, step=step["skid_bolts"], fastener="bolt", thread="M8",
                length_mm=25, head="hex_flange", drive="hex 13", grade="8.8", torque="22 N·m", holds="skid_plate;frame",
                from_="under")  # EN 1665
    bolts(m, unit.SKID_EARS, g, "skid_bolt", hw.flange_bolt(8, 25), DOWN, thread_in=("frame", 7))
    bolts(m, unit.SKID_REAR, g, "skid_bolt", hw.flange_bolt(8, 25), DOWN, 5, holds="skid_plate;crossmember",
          thread_in=("crossmember", 7))

    g = m.group("plugs", "Plugs of the transfer box", 6, holds="transfer_box", renew=None,
                from_="under")  # DIN 908, DIN 7603
    for name, title, at, axis, torque in (("fill", "fill_plug", unit.FILL_PLUG, RIGHT,
                                           "30 N·m"), ("level", "level_plug", unit.LEVEL_PLUG, REAR, "30 N·m"),
                                          ("drain", "drain_plug", unit.DRAIN_PLUG, DOWN, "35 N·m")):
        at = Vector(at)
        keys = dict(step=step[f"{name}_plug"], joint=f"{name}_plug")
        m.fastener(f"{name}_ring", hw.sealing_ring(22), at, axis, g, fastener="washer", stack=1, renew=True,
                   drive="none", **keys)
        m.fastener(
            f"{name}_plug", hw.plug(22), at + axis * 1.5, axis, g, thread_in=("transfer_box", 1.5), fastener=title,
            stack=2, thread="M22x1.5", length_mm=14, head="cap", drive="socket 10", torque=torque, turn="head", after={
                "drain": "skid_plate;prove_fill_plug",
                "fill": None,
                "level": None
            }[name], refit_after={
                "drain": None,
                "fill": "fill_oil;level_oil",
                "level": "level_oil"
            }[name], caution={
                "drain": "Hot oil scalds: only when cool; tray ready before it opens",
                "fill": None,
                "level": None
            }[name], refit_caution="none" if name == "drain" else None, refit_note="New sealing ring", **keys)

    # ---- propeller shafts ------------------------------------------------------------------------------------------

    front, rear = unit.FRONT_FLANGE, unit.REAR_FLANGE
    held = dict(needs="brake on", counter="brake", from_="under")

    g = m.group("front_shaft_axle_bolts", "Front shaft to front axle", 4, step=step["front_shaft_axle_bolts"],
                fastener="bolt", thread="M10x1.25", length_mm=25, head="hex", drive="hex 16", grade="10.9",
                torque="64 N·m", pattern="star", passes=2, lock="medium", holds="front_shaft;front_axle",
                after="mark_front_shaft;drain_box", held_through="front_shaft;rear_shaft",
                note="Transfer lever in four-wheel drive: the rear shaft's brake then holds this one too", **held)
    bolts(m, on_circle((185, -180), 40, QUARTERS, 850 - 10.5), g, "front_axle_bolt", hw.hex_bolt(10, 25), REAR,
          thread_in=("front_axle", 10.5))
    g = m.group("front_shaft_box_bolts", "Front shaft to box, bolts", 4, step=step["front_shaft_box_joints"],
                fastener="bolt", thread="M10x1.25", length_mm=40, head="hex", drive="hex 16", grade="10.9",
                holds="front_shaft;transfer_box", stack=1, turn="nut", after="mark_front_shaft;drain_box",
                note="Heads behind the flange, held with a ring spanner", from_="under")
    bolts(m, on_circle((150, -60), 40, QUARTERS, front - 12), g, "front_box_bolt", hw.hex_bolt(10, 40), REAR,
          joint=lambda n: f"front_box_{n}")
    g = m.group("front_shaft_box_nuts", "Front shaft to box, self-locking nuts", 4, step=step["front_shaft_box_joints"],
                fastener="nut", thread="M10x1.25", drive="hex 16", grade="10", renew=True, lock="self-locking", torque="64 N·m",
                pattern="star", passes=2, holds="front_shaft;transfer_box", stack=2, turn="nut",
                after="mark_front_shaft;drain_box", counter="hex 16", needs="brake on", held_through="rear_shaft",
                from_="under")
    bolts(m, on_circle((150, -60), 40, QUARTERS, front + 10.5), g, "front_box_nut", hw.lock_nut(10), FRONT,
          joint=lambda n: f"front_box_{n}")

    g = m.group("rear_shaft_axle_bolts", "Rear shaft to rear axle", 4, step=step["rear_shaft_axle_bolts"],
                fastener="bolt", thread="M10x1.25", length_mm=25, head="hex", drive="hex 16", grade="10.9",
                torque="64 N·m", pattern="star", passes=2, lock="medium", holds="rear_shaft;rear_axle",
                after="mark_rear_shaft;drain_box", held_through="rear_axle", **held)
    bolts(m, on_circle((0, -170), 40, QUARTERS, -990 + 10.5), g, "rear_axle_bolt", hw.hex_bolt(10, 25), FRONT,
          thread_in=("rear_axle", 10.5))
    g = m.group("rear_shaft_box_tabs", "Tab plates of the rear shaft's bolts", 2, step=step["rear_shaft_box_tabs"],
                fastener="tab", drive="pliers", renew=True, holds="rear_shaft", from_="under",
                note="Bend the tabs flat",
                refit_note="The new plates went under the heads with the bolts: bend one tab a head, now")
    for n, (up, spin) in enumerate(((28.28, 0), (-28.28, 180)), 1):
        m.fastener(f"rear_box_tab_{n}", hw.tab_plate(56.57, 11), (0, rear - 10.5, up), REAR, g, spin,
                   secures=f"rear_box_bolt_{1 if n == 1 else 3};rear_box_bolt_{2 if n == 1 else 4}")
    g = m.group("rear_shaft_box_bolts", "Rear shaft to box", 4, step=step["rear_shaft_box_joints"], fastener="bolt",
                thread="M10x1.25", length_mm=25, head="hex", drive="hex 16", grade="10.9", torque="64 N·m",
                pattern="star", passes=2, holds="rear_shaft;transfer_box", after="mark_rear_shaft;drain_box",
                needs="in gear", counter="gear", held_through="gearbox_tail",
                note="With the axle end free the brake no longer holds: a gear does", from_="under")
    bolts(m, on_circle((0, 0), 40, QUARTERS, rear - 11.3), g, "rear_box_bolt", hw.hex_bolt(10, 25), REAR,
          thread_in=("transfer_box", 11.3))
    g = m.group("shaft_loop_bolts", "Bolts of the shaft loop", 2, step=step["shaft_loop_bolts"], fastener="bolt",
                thread="M8", length_mm=20, head="hex_flange", drive="hex 13", grade="8.8", torque="22 N·m",
                holds="shaft_loop;frame", from_="under")
    bolts(m, stays.LOOP_BOLTS, g, "shaft_loop_bolt", hw.flange_bolt(8, 20), DOWN, thread_in=("frame", 6.5))

    # ---- exhaust, heat shield --------------------------------------------------------------------------------------

    g = m.group("exhaust_nuts", "Exhaust flange, self-locking nuts", 3, step=step["exhaust_nuts"], fastener="nut",
                thread="M10x1.25", drive="hex 16", renew=True, lock="self-locking", torque="38 N·m", soak_min=15,
                holds="exhaust_run;front_pipe;exhaust_gasket", condition="dry", after="soak_nuts",
                caution="Cold exhaust only; rust falls: eyes", refit_caution="none", from_="under")  # ISO 7042 on studs
    bolts(m, [(a, stays.EXHAUST_FLANGE - 14, b) for a, b in stays.EXHAUST_STUDS], g, "exhaust_nut", hw.lock_nut(10),
          REAR)
    g = m.group("exhaust_hangers", "Exhaust rubbers", 3, step=step["exhaust_hangers"], fastener="hanger", drive="hand",
                holds="exhaust_run;frame", note="A little soapy water, never oil; leave the middle one to last",
                from_="under")
    bolts(m, [(a, f + 22, -104) for a, f in stays.HANGERS], g, "exhaust_hanger", hw.rubber_hanger(50, 10), FRONT)
    g = m.group("tail_clamps", "Sleeve clamp of the tail pipe", 1)
    m.fastener("tail_clamp", hw.sleeve_clamp(51, 84), (-260 + 36.5, -769, -161), DOWN, g, fastener="clamp", thread="M8",
               drive="hex 13", holds="exhaust_run;tail_pipe", step=step["tail_clamp"], soak_min=15, after="soak_nuts",
               from_="under")
    g = m.group("heat_shield_bolts", "Heat shield bolts", 4, step=step["heat_shield_bolts"], fastener="bolt",
                thread="M6", length_mm=16, head="hex_flange", drive="hex 10", grade="8.8", holds="heat_shield;frame",
                torque="9 N·m", after="exhaust_run", from_="under")
    bolts(m, stays.SHIELD_BOLTS[:3], g, "heat_shield_bolt", hw.flange_bolt(6, 16), DOWN, thread_in=("frame", 5.2))
    bolts(m, stays.SHIELD_BOLTS[3:], g, "heat_shield_bolt", hw.flange_bolt(6, 16), DOWN, 4, thread_in=("frame", 6))

    # ---- linkage, wiring, breather, canister -----------------------------------------------------------------------

    PINS = {"front": unit.PIN_FRONT, "rear": unit.PIN_REAR}
    g = m.group("shift_split_pins", "Split pins of the shift rod", 2, step=step["shift_split_pins"],
                fastener="split_pin", drive="pliers", renew=True, holds="shift_rod",
                from_="under")  # ISO 1234, 2x16 for an 8 mm pin
    for end, at in PINS.items():
        m.fastener(f"shift_split_pin_{end}", hw.split_pin(2, 16), (-136.5, at[1], at[2] + 4.2), UP, g,
                   secures=f"shift_pin_{end}")
    g = m.group("shift_pins", "Pins of the shift rod", 2, step=step["shift_pins"], fastener="pin", drive="hand",
                length_mm=26, condition="greased", from_="under")  # ISO 2341, 8 mm
    for end, at in PINS.items():
        m.fastener(f"shift_pin_{end}", hw.clevis_pin(8, 26, 22.5), (-114, at[1], at[2]), LEFT, g,
                   holds="shift_rod;lever_bracket" if end == "front" else "shift_rod;transfer_box")
    g = m.group("connectors", "Wiring plugs", 2, step=step["connectors"], fastener="connector", drive="hand",
                after="battery_off", from_="under", note="Press the tab, pull the plug and never the wire")
    m.fastener("switch_connector", hw.connector(), unit.SWITCH_AT + unit.SWITCH_AXIS * 46, unit.SWITCH_AXIS, g,
               holds="harness;neutral_switch")
    m.fastener("sensor_connector", hw.connector(), unit.SENSOR_AT + RIGHT * 40, RIGHT, g, holds="harness;speed_sensor")
    g = m.group("harness_clips", "Clips of the harness", 3, step=step["harness_clips"], fastener="clip", drive="pliers",
                from_="under")
    m.fastener("harness_clip_1", hw.snap_clip(10), (66, -60, 154), LEFT, g, 90, holds="harness;harness_bracket")
    bolts(m, [(191, front, 160) for front in stays.HARNESS_CLIPS], g, "harness_clip", hw.snap_clip(12), RIGHT, 2,
          spin=90, holds="harness;floor")
    g = m.group("breather_clips", "Clips of the breather hose", 2, step=step["breather_clips"], from_="under")
    m.hose_clip("breather_hose_clip", hw.hose_clip(13), hw.hose_clip_reach(13), (0, -165, 120), UP, REAR, g,
                fastener="clamp", drive="hex 7", holds="breather_hose;transfer_box",
                note="Above the box, under the tunnel: found by feel from behind")
    m.fastener("breather_floor_clip", hw.pipe_clip(13), (0, 60, 236), DOWN, g, fastener="clip", thread="M6",
               drive="hex 10", holds="breather_hose;floor")
    g = m.group("canister_bolts", "Canister bracket bolts", 2, step=step["canister_bolts"], fastener="bolt",
                thread="M8", length_mm=20, head="hex_flange", drive="hex 13", grade="8.8", torque="22 N·m",
                frees_when="slack", holds="canister;frame", from_="left",
                note="Two turns only: the bracket is slotted and lifts off")
    bolts(m, stays.CANISTER_BOLTS, g, "canister_bolt", hw.flange_bolt(8, 20), RIGHT, thread_in=("frame", 8))
