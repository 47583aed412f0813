"""The big map's parts: what each is, and what a manual would say about it. All figures invented for this demo."""
import big_unit as unit
import big_vehicle as stays


def put_parts(m, step):
    # ---- what stays -------------------------------------------------------------------------------------------------

    m.part("frame", "Frame", stays.frame(), fixed=True, material="steel")
    m.part("floor", "Floor and tunnel", stays.floor(), fixed=True, material="steel")
    m.part("engine", "Engine, rear end", stays.engine_rear(), (0, 870, 0), fixed=True)
    m.part("front_axle", "Front axle", stays.axle_nose(185, 850, -180, -1), (185, 850, -180), fixed=True)
    m.part("rear_axle", "Rear axle", stays.axle_nose(0, -990, -170, 1), (0, -990, -170), fixed=True)
    m.part("front_pipe", "Front exhaust pipe", stays.front_pipe(), (-260, 412, -150), fixed=True, material="steel")
    m.part("tail_pipe", "Tail pipe", stays.tail_pipe(), (-260, -790, -150), fixed=True, material="steel")
    m.part(
        "gearbox_tail", "Gearbox tail", stays.gearbox_tail(), (0, 0, 0), step=step["gearbox_tail"], lower="50 mm",
        mass_kg=38.0, material="aluminium", support="jack",
        carried_by="crossmember_long_bolts;crossmember_short_bolts;mount_lower_nuts",
        after="crossmember;steady_rod;lever_bracket;exhaust_run", people=2, from_="under", caution=
        "The engine and gearbox tip on their front mounts: watch the fan, the hoses and the hand lever as it goes down",
        refit_caution=
        "The engine moves on its mounts as this rises or settles: hands out from between tail and tunnel, hoses and "
        "harness not caught", note=
        "Stays in the vehicle, but nothing holds its rear end once the crossmember is off. Let both jacks down together, 50 mm "
        "and no more, for the two upper bolts")

    # ---- the unit --------------------------------------------------------------------------------------------------

    # Its case is cast aluminium, its flanges and shafts are steel: no one `material` holds for it.
    m.part(
        "transfer_box", "Transfer box", unit.transfer_box(), (60, -130, -20), step=step["transfer_box"], mass_kg=46.0,
        support="jack",
        carried_by="mount_lower_nuts;mount_upper_nuts;crossmember_long_bolts;crossmember_short_bolts;adapter_bolts;"
        "adapter_upper_bolts", way="rear 40 mm; down 600 mm", fluid="gear oil, grade as the manual states",
        amount_l=1.4, opens="transfer_box",
        lift_point="case bottom behind the crossmember, padded saddle, strap round (invented for this demo)",
        after="canister;harness;breather_hose;shift_rod;tail_brace;brake_cable;heat_shield;clear_drop_path",
        refit_after="count_dowels;line_up_splines", people=2, needs="neutral", from_="under",
        caution="46 kg: one at the jack, one to steady it; nobody's hands between the flanges; nobody beneath it",
        refit_caution=
        "46 kg: strapped to the jack until its bolts are in; nobody's hands between the flanges; nobody beneath it",
        note="Straight back off the input shaft's splines, 40 mm, then down. Never let it hang on the input shaft",
        refit_note="Slide it on by hand; never draw it up with the bolts: if it stops, turn an output flange")
    m.part("adapter_gasket", "Gasket, tail to transfer box", unit.adapter_gasket(), (0, 0, 0),
           step=step["adapter_gasket"], renew=True, way="rear 42 mm; down 300 mm", after="transfer_box",
           refit_after="count_dowels", from_="under", refit_note="New gasket, faces clean and dry")
    m.part("crossmember", "Crossmember", unit.crossmember(), (60, -130, -150), step=step["crossmember"], mass_kg=11.0,
           material="steel", way="down 500 mm", after="exhaust_run;skid_plate", people=2, from_="under",
           caution="The gearbox tail drops with it unless it has a prop of its own",
           refit_caution="Both props stay until all its bolts and the mounts' nuts are in",
           note="Both props take the weight before the first nut is slackened")
    for side, left in stays.MOUNTS.items():
        m.part(f"mount_{side}", f"Rubber mount, {side}", unit.mount(left), (left, -130, -165), step=step["mounts"],
               mass_kg=0.5, transfer=True, way="down 60 mm",
               note="Goes over to the replacement unit, if its rubber is sound")
    m.part("neutral_switch", "Neutral switch", unit.neutral_switch(), tuple(unit.SWITCH_AT),
           step=step["neutral_switch"], mass_kg=0.1, transfer=True, opens="transfer_box", way="up 40 mm",
           note="On the bench: goes over to the replacement unit")
    m.part("speed_sensor", "Speed sensor", unit.speed_sensor(), tuple(unit.SENSOR_AT), step=step["speed_sensor"],
           mass_kg=0.1, transfer=True, opens="transfer_box", way="right 40 mm",
           note="On the bench: goes over to the replacement unit")
    m.part("harness_bracket", "Harness bracket", unit.harness_bracket(), (36, -60, 140), step=step["harness_bracket"],
           material="steel", transfer=True, way="up 40 mm", note="On the bench: goes over to the replacement unit")
    m.part("mass_damper", "Mass damper", unit.mass_damper(), (140, -243, -45), step=step["mass_damper"], transfer=True,
           mass_kg=0.9, material="cast_iron", way="rear 60 mm", note="On the bench: goes over to the replacement unit")

    # ---- round about it --------------------------------------------------------------------------------------------

    m.part("skid_plate", "Skid plate", unit.skid_plate(), (0, -40, -226), step=step["skid_plate"], mass_kg=7.5,
           material="steel", way="down 400 mm", from_="under",
           note="Hides the drain plug and the crossmember's access holes")
    for end, title, start, stop, slip in (("front", "Front propeller shaft", (150, unit.FRONT_FLANGE, -60),
                                           (185, 850, -180), True), ("rear", "Rear propeller shaft",
                                                                     (0, unit.REAR_FLANGE, 0), (0, -990, -170), False)):
        m.part(f"{end}_shaft", title, unit.propeller_shaft(start, stop, slip), start, step=step[f"{end}_shaft"],
               mass_kg=6.5 if end == "front" else 8.0, material="steel", turns="+z",
               adjust="flange to flange, paint marks on both ends",
               after="drain_box" + (";shaft_loop" if end == "rear" else ""), way="down 400 mm", from_="under",
               caution="It drops at one end: hold it, never let it hang on one joint",
               refit_caution="It drops at one end: hold it until two bolts are in at each",
               note="To bring the bolts round: neutral, parking brake off, nobody beneath meanwhile; turn by hand; brake on "
               "again to slacken")
    m.part("shaft_loop", "Loop under the rear shaft", unit.shaft_loop(), (0, -450, -20), step=step["shaft_loop"],
           material="steel", way="down 300 mm", from_="under")
    m.part("exhaust_run", "Exhaust, middle run with silencer", unit.exhaust_run(), (-260, -200, -150),
           step=step["exhaust_run"], mass_kg=9.0, material="steel", way="rear 36 mm; down 400 mm", from_="under",
           caution="Cold exhaust only", refit_caution="9 kg: on its rubbers alone until the flange is up: hold it")
    m.part("exhaust_gasket", "Exhaust gasket", unit.exhaust_gasket(), (-260, 410, -150), step=step["exhaust_gasket"],
           renew=True, way="rear 40 mm; down 300 mm", after="exhaust_run", from_="under")
    m.part("heat_shield", "Heat shield", unit.heat_shield(), (-290, -425, -80), step=step["heat_shield"],
           material="aluminium", way="down 300 mm", after="exhaust_run", from_="under", caution="Sharp edges: gloves")
    m.part("canister", "Vapour canister", unit.canister(), stays.CANISTER, step=step["canister"], mass_kg=1.2,
           aside="up 20 mm; right 6 mm; rear 80 mm", hang_from="a wire hook over the frame's rear brace",
           tether="canister_hose", from_="left", caution="Fuel vapour: no flame, no grinder, no lamp that gets hot",
           note="Lift it off its slackened bolts; the hose stays on")
    m.part(
        "canister_hose", "Canister hose",
        unit.hose([(292, -233, 40), (292, -233, 71), (300, -140, 70), (345, 140, 56), (350, 560, 30), (424, 640, 10)],
                  8), (292, -233, 50), flexible=True, material="rubber")
    m.part("breather_hose", "Breather hose",
           unit.hose([(0, -165, 108), (0, -165, 186), (0, -90, 227.7), (0, 160, 227.7), (40, 300, 210)], 6.5),
           (0, -165, 120), step=step["breather_hose"], material="rubber", flexible=True, aside="front 80 mm; up 20 mm",
           hang_from="a tie on the tunnel", from_="under", note="Plug it: a cap on the nipple too")
    m.part(
        "harness", "Harness branch",
        unit.hose([(158, -80, 170), (156, -30, 180), (110, -8, 166), (74.4, -12, 154), (74.4, -108, 154),
                   (40, -160, 160), (-60, -225, 118), (-136, -262, 40), (-139, -268, 12)], 5, 45).join(
                       unit.hose([(143, -80, 143), (158, -80, 170), (172, 0, 168), (181.6, 140, 160), (181.6, 440, 160),
                                  (198, 500, 160)], 6, 45)), (150, -60, 160), step=step["harness"], mass_kg=0.3,
        flexible=True, aside="front 120 mm; up 40 mm",
        hang_from="a tie to the front clip on the tunnel, never by its plugs", from_="under")
    m.part("shift_rod", "Shift rod", unit.shift_rod(), (-118, 40, 112), step=step["shift_rod"], material="steel",
           adjust="length of the rod between its pins", way="right 50 mm; down 200 mm", from_="under",
           note="Leave its lock nuts alone: the length is the setting")
    m.part("lever_bracket", "Lever bracket", unit.lever_bracket(), (-118, 110, 200), step=step["lever_bracket"],
           material="steel", way="down 40 mm; right 36 mm; down 300 mm", after="shift_rod;tail_brace", from_="under",
           note="The hand lever stays with the floor")
    m.part("steady_rod", "Steady rod", unit.steady_rod(), (-235, 198, 40), step=step["steady_rod"], material="steel",
           way="rear 56 mm; down 300 mm", from_="under", note="Must come apart before the tail can go down")
    m.part(
        "tail_brace", "Brace, tail to transfer box", unit.tail_brace(), (-125, -57, -30), step=step["tail_brace"],
        material="steel", way="right 40 mm; front 220 mm; down 250 mm",
        refit_after="level_oil;level_plug;fill_plug;rear_shaft_box_tabs;rear_shaft_axle_bolts",
        refit_free="brake_cable;mount_lower_nuts", from_="under", refit_note=
        "Last of all on the unit: with the brace on the filling hose does not reach, and the shaft's bolts first draw the box "
        "into line")
    m.part(
        "brake_cable", "Parking brake cable",
        unit.hose([(338, -60, 82), (323, -182.8, 50), (323, -182.8, -215), (300, -420, -195), (245, -1000, -170),
                   (240, -1170, -165)], 6, 60), (323, -182.8, -150), step=step["brake_cable"], mass_kg=0.6,
        flexible=True, aside="left 40 mm; up 60 mm", hang_from="a strap to the left rail", from_="left",
        note="Only its clip is undone: the cable stays connected and the brake stays usable")
