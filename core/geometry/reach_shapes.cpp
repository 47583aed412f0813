// Tools as rings and arms, sized for a site. Heights above the site's foot, metres; dimensions from tools.hpp.
#include <algorithm>
#include <cmath>
#include <iterator>

#include <fmt/format.h>

#include "core/geometry/reach_sweep.hpp"

namespace boltwalk::reaching {

namespace {

/// Height at which a tool begins on a head.
double foot_of(const Site& site) {
    return std::max(reach_foot_mm * m_per_mm, reach_foot_share * site.head);
}
/// Sizes of one drive that differ by less are the same: 9/16 in is no 14, 5/16 in no 8, but 12.7 is 1/2 in.
constexpr double same_size_mm = 0.05;
/// An open end, in widths across flats from the axis: how far its jaws' tips reach past it (far enough for the corners,
/// 0.577), and what turns in its throat all round. Common practice, no source.
constexpr double jaw_tips = 0.6, jaw_round = 0.58;
/// A socket is well on when it grips this share of the head's height.
constexpr double gripped_share = 0.5;
/// tan and cos of the 15 degrees at which a ring's head is set to its shank: 2 - sqrt 3, (sqrt 6 + sqrt 2) / 4.
constexpr double tan_offset = 0.26794919243112270;
constexpr double cos_offset = 0.96592582628906829;
/// How deep a key is in its recess, in widths across flats. ISO 4762: recess depth t at least 0.5 to 0.6 of s. Memory.
constexpr double key_depth = 0.6;
/// A fist round a handle, and how much of the handle it takes. Common practice, no source (MIL-STD-1472 gives 95 mm for
/// an empty hand's way in, from memory).
constexpr double fist_m = 0.09;
constexpr double fist_along_m = 0.11;
/// Fingertips and pliers' jaws, then the hand behind them. Common practice, no source.
constexpr double finger_radius_m = 0.009, finger_m = 0.05, hand_radius_m = 0.035, hand_m = 0.11;
constexpr double jaw_radius_m = 0.007, jaw_m = 0.06, grip_radius_m = 0.03, grip_m = 0.13;
/// What holds a clip or plug is beside it: fingers begin so far off its surface.
constexpr double grip_off_m = 0.003;
/// A screwdriver: shank's length and radius, handle with the fingers round it. Common practice, no source.
constexpr double blade_m = 0.1, blade_radius_m = 0.004, driver_handle_m = 0.1, driver_radius_m = 0.028;

int steps(double degrees) {
    return static_cast<int>(degrees / reach_step_deg + 0.5);
}

bool is_square_of(const Tool& tool, double square) {
    return tool.square_mm == 0 || square == 0 || tool.square_mm == square;
}

/// The square that a chain has: the first that is stated, else by the ratchet's length or what it is for.
double square_of(const Tool& end, const Tool& driver) {
    if (end.square_mm > 0)
        return end.square_mm;
    if (driver.square_mm > 0)
        return driver.square_mm;
    if (driver.kind == ToolKind::ratchet)
        return driver.length_mm <= 160 ? 6.3 : driver.length_mm <= 210 ? 10 : 12.5;
    return 12.5;
}

bool fits(const Tool& tool, const Drive& drive, ToolKind kind) {
    if (tool.kind != kind)
        return false;
    const DriveKind wanted = drive.kind == DriveKind::bihex ? DriveKind::hex : drive.kind;
    return tool.drive.kind == wanted && std::abs(tool.drive.size - drive.size) < same_size_mm;
}

/// What carries a chain: the end on the fastener, worked out already, and where the square enters.
struct End {
    const Tool* tool = nullptr;
    std::vector<ToolRing> rings;
    double top = 0;  ///< where the next piece begins
    double lift = 0; ///< how much higher all of it is while it is put on, as one
};

void add_handle(ToolShape& shape, double head, double low, double height, double lift, double length, double width,
                bool arm_room) {
    shape.rings.push_back({low, low + height, 0, head / 2, lift});
    const double middle = low + height / 2;
    const double reach = length - head / 2;
    shape.arms.push_back({0, reach, middle - width / 2, middle + width / 2 + lift, width / 2});
    if (arm_room)
        shape.hand.push_back(
            {reach - fist_along_m, reach, middle - fist_m / 2, middle + fist_m / 2 + lift, fist_m / 2});
    shape.handle = {0, middle, reach, middle, width / 2};
    shape.lever_m = reach - grip_half_mm * m_per_mm;
}

ToolShape chain(const End& end, const std::vector<const Tool*>& extensions, const Tool& driver) {
    ToolShape shape;
    const double square = square_of(*end.tool, driver);
    const double lift = std::min(end.lift, square_length_mm(square) * m_per_mm);
    shape.rings = end.rings;
    double top = end.top;
    std::string names;
    for (const Tool* extension : extensions) {
        const double length = extension->length_mm * m_per_mm;
        shape.rings.push_back({top, top + length, 0, extension_outside_mm(square) * m_per_mm / 2, lift});
        top += length;
        names += ", " + name_of(*extension);
    }
    const double width = handle_width_mm(square) * m_per_mm;
    double length = driver.length_mm > 0 ? driver.length_mm : ratchet_length_mm(square);
    double head = ratchet_head_mm(square) * m_per_mm;
    double height = ratchet_height_mm(square) * m_per_mm;
    if (driver.kind == ToolKind::torque_wrench && driver.length_mm == 0)
        length = torque_wrench_length_mm(driver.high_nm);
    if (driver.kind == ToolKind::bar) { // a hinge no thicker than the handle
        head = 1.1 * width;
        height = 1.1 * width;
    }
    shape.name = fmt::format("{}{}, {}", name_of(driver), names, name_of(*end.tool));
    shape.need = steps(driver.kind == ToolKind::ratchet ? 360.0 / ratchet_teeth : swing_pull_deg);
    add_handle(shape, head, top, height, lift, length * m_per_mm, width, driver.kind != ToolKind::ratchet);
    return shape;
}

/// A socket on a hexagon: false when it does not reach far enough over what stands out of the nut.
bool socket_end(const Tool& tool, double flats_mm, double square, const Site& site, End& end) {
    const bool deep = tool.kind == ToolKind::deep_socket;
    const double length = socket_length_mm(square, deep) * m_per_mm;
    const double inside =
        length - square_length_mm(square) * m_per_mm - 2 * m_per_mm; // 2 mm of bottom: common practice
    const double bottom = std::max(foot_of(site), site.proud - inside);
    if (site.head - bottom < gripped_share * site.head)
        return false;
    const double outer = socket_outside_mm(flats_mm, square) * m_per_mm / 2;
    const double nut_end = std::min(outer, (1.25 * flats_mm + 3.0) * m_per_mm / 2);
    const double inner = flats_mm * m_per_mm / 2;
    end.tool = &tool;
    end.lift = site.proud - bottom;
    end.top = bottom + length;
    // The driven end of a small socket is thicker than its nut end: common practice, the upper half.
    const double waist = bottom + std::min(inside, length / 2);
    end.rings = {{bottom, waist, inner, nut_end, 0},
                 {waist, bottom + inside, inner, outer, 0},
                 {bottom + inside, end.top, 0, outer, end.lift}};
    return true;
}

void bit_end(const Tool& tool, const Drive& drive, double square, const Site& site, End& end) {
    const double body = socket_length_mm(square, false) * m_per_mm;
    const double key = std::max(bit_length_mm(square) * m_per_mm - body, 0.0);
    const double thick = key_thickness_mm(drive) * m_per_mm;
    const double in = std::min(key_depth * thick, 0.7 * key);
    const double low = site.head;
    end.tool = &tool;
    end.lift = in;
    end.top = low + key - in + body;
    end.rings = {{low, low + key - in, 0, thick / 2, in},
                 {low + key - in, end.top, 0, bit_outside_mm(square) * m_per_mm / 2, in}};
}

ToolShape ring_spanner(const Tool& tool, double flats_mm, const Site& site) {
    ToolShape shape;
    const double outer = ring_outside_mm(flats_mm) * m_per_mm / 2;
    const double height = ring_height_mm(flats_mm) * m_per_mm;
    const double bottom = std::max(foot_of(site), site.head - height); // no lower than it needs
    const double lift = site.proud - bottom;
    shape.name = name_of(tool);
    shape.need = steps(swing_spanner_deg);
    shape.rings = {{bottom, bottom + height, flats_mm * m_per_mm / 2, outer, lift}};
    // The shank rises at 15 degrees from the ring's middle: pieces of it, each as high as it needs.
    const double length = (spanner_length_mm(flats_mm) * m_per_mm - outer) * cos_offset;
    const double thick = open_height_mm(flats_mm) * m_per_mm;
    constexpr int pieces = 4;
    for (int i = 0; i < pieces; ++i) {
        const double from = outer * 0.7 + (length - outer * 0.7) * i / pieces;
        const double to = outer * 0.7 + (length - outer * 0.7) * (i + 1) / pieces;
        const double middle = bottom + height / 2 - outer * tan_offset;
        shape.arms.push_back({from, to,
                              std::max(bottom + reach_clearance_mm * m_per_mm, middle + from * tan_offset - thick / 2),
                              middle + to * tan_offset + thick / 2 + lift, spanner_width_mm(flats_mm) * m_per_mm / 2});
    }
    const double root = bottom + height / 2;
    shape.handle = {outer * 0.7, root - outer * 0.3 * tan_offset, length, root + (length - outer) * tan_offset,
                    thick / 2};
    shape.lever_m = length - grip_half_mm * m_per_mm;
    return shape;
}

ToolShape open_spanner(const Tool& tool, double flats_mm, const Site& site) {
    ToolShape shape;
    const double height = open_height_mm(flats_mm) * m_per_mm;
    const double bottom = std::max(foot_of(site), (site.head - height) / 2);
    const double outer = open_width_mm(flats_mm) * m_per_mm / 2;
    const double length = spanner_length_mm(flats_mm) * m_per_mm - outer;
    const double inner = flats_mm * m_per_mm / 2;
    shape.name = name_of(tool);
    shape.need = steps(swing_spanner_deg);
    // It comes on from the handle's side and is open on the other: the jaws' tips are all that is behind the axis.
    shape.rings = {{bottom, bottom + height, inner, jaw_round * flats_mm * m_per_mm, 0}};
    shape.arms = {{-jaw_tips * flats_mm * m_per_mm, outer, bottom, bottom + height, outer, inner},
                  {outer, length, bottom, bottom + height, spanner_width_mm(flats_mm) * m_per_mm / 2, 0}};
    shape.handle = {outer * 0.7, bottom + height / 2, length, bottom + height / 2, height / 2};
    shape.lever_m = length - grip_half_mm * m_per_mm;
    return shape;
}

ToolShape bent_key(const Tool& tool, bool long_arm_in, const Site& site) {
    ToolShape shape;
    const double thick = key_thickness_mm(tool.drive) * m_per_mm;
    const double in = key_depth * thick;
    const double up = (long_arm_in ? key_long_mm(tool.drive) : key_short_mm(tool.drive)) * m_per_mm - in;
    const double out = (long_arm_in ? key_short_mm(tool.drive) : key_long_mm(tool.drive)) * m_per_mm;
    const double top = site.head + up;
    shape.name = name_of(tool) + (long_arm_in ? ", long arm in" : "");
    shape.need = steps(swing_key_deg);
    shape.rings = {{site.head, top, 0, thick / 2, in}};
    shape.arms = {{0, out, top - thick, top + in, thick / 2}};
    shape.handle = {0, top - thick / 2, out, top - thick / 2, thick / 2};
    shape.lever_m = std::max(out - std::min(grip_half_mm * m_per_mm, out / 2), 0.0);
    return shape;
}

ToolShape screwdriver(const Tool& tool, const Site& site) {
    ToolShape shape;
    const double blade = site.head + blade_m;
    shape.name = name_of(tool);
    shape.need = -1;
    shape.rings = {{site.head, blade, 0, blade_radius_m, 0},
                   {blade, blade + driver_handle_m, 0, driver_radius_m, 0.005}};
    return shape;
}

/// Which square is handiest for a size: small ones for small fasteners. Common practice, no source.
int rank_of(double square, double size_mm) {
    const double best = size_mm <= 10 ? 6.3 : size_mm <= 14 ? 10 : 12.5;
    return square == best ? 0 : square == 10 ? 1 : 2;
}

struct Rig {
    std::vector<const Tool*> extensions;
    double length = 0;
};

/// No extension, each alone, and the two longest of one square together; by length.
std::vector<Rig> rigs(const ToolBox& box, double square) {
    std::vector<Rig> list{{}};
    std::vector<const Tool*> owned;
    for (const Tool& tool : box.tools)
        if (tool.kind == ToolKind::extension && is_square_of(tool, square))
            owned.push_back(&tool);
    std::stable_sort(owned.begin(), owned.end(),
                     [](const Tool* a, const Tool* b) { return a->length_mm < b->length_mm; });
    for (const Tool* tool : owned)
        if (list.back().length != tool->length_mm)
            list.push_back({{tool}, tool->length_mm});
    if (owned.size() >= 2) {
        const Tool* longest = owned.back();
        const Tool* next = owned[owned.size() - 2];
        list.push_back({{next, longest}, next->length_mm + longest->length_mm});
    }
    return list;
}

struct Ranked {
    double extension = 0;
    int rank = 0;
    ToolShape shape;
};

/// Chains with this kind of driver: shortest first, then by the square that suits the size, then as listed.
void add_chains(const ToolBox& box, ToolKind driver_kind, const Drive& drive, double torque_nm, const Site& site,
                std::vector<ToolShape>& out) {
    std::vector<Ranked> ranked;
    const double flats = gripped_mm(drive);
    for (const Tool& driver : box.tools) {
        if (driver.kind != driver_kind ||
            (driver_kind == ToolKind::torque_wrench && (torque_nm < driver.low_nm || torque_nm > driver.high_nm)))
            continue;
        for (const Tool& tool : box.tools) {
            const bool socket =
                flats > 0 && (fits(tool, drive, ToolKind::socket) || fits(tool, drive, ToolKind::deep_socket));
            if ((!socket && !fits(tool, drive, ToolKind::bit)) || !is_square_of(tool, driver.square_mm))
                continue;
            const double square = square_of(tool, driver);
            End end;
            if (!socket)
                bit_end(tool, drive, square, site, end);
            else if (!socket_end(tool, flats, square, site, end))
                continue;
            const bool deep = tool.kind == ToolKind::deep_socket;
            if (deep && std::any_of(box.tools.begin(), box.tools.end(), [&](const Tool& other) {
                    End end_of_other;
                    return fits(other, drive, ToolKind::socket) && is_square_of(other, square) &&
                           socket_end(other, flats, square, site, end_of_other);
                }))
                continue; // an ordinary one does
            for (const Rig& rig : rigs(box, square))
                ranked.push_back(
                    {rig.length, rank_of(square, socket ? flats : 2 * drive.size), chain(end, rig.extensions, driver)});
        }
    }
    std::stable_sort(ranked.begin(), ranked.end(), [](const Ranked& a, const Ranked& b) {
        return a.extension != b.extension ? a.extension < b.extension : a.rank < b.rank;
    });
    for (Ranked& one : ranked)
        out.push_back(std::move(one.shape));
}

std::string wanted_name(const Drive& drive, bool on_square = false) {
    Tool tool;
    tool.drive = drive;
    switch (drive.kind) {
    case DriveKind::socket:
    case DriveKind::hexalobular:
        tool.kind = on_square ? ToolKind::bit : ToolKind::key;
        break;
    case DriveKind::square:
        tool.kind = ToolKind::bit;
        break;
    case DriveKind::slot:
    case DriveKind::cross:
        tool.kind = ToolKind::screwdriver;
        break;
    default:
        tool.kind = ToolKind::socket;
    }
    return name_of(tool);
}

bool is_owned(const ToolBox& box, const Drive& drive, std::initializer_list<ToolKind> kinds) {
    return std::any_of(box.tools.begin(), box.tools.end(), [&](const Tool& tool) {
        return std::any_of(kinds.begin(), kinds.end(), [&](ToolKind kind) { return fits(tool, drive, kind); });
    });
}

} // namespace

std::vector<ToolShape> shapes_for(const ToolBox& box, const Drive& drive, Use use, double torque_nm, const Site& site,
                                  std::string& missing) {
    std::vector<ToolShape> list;
    missing.clear();
    if (use == Use::tighten || use == Use::loosen) {
        const ToolKind driver = use == Use::tighten ? ToolKind::torque_wrench : ToolKind::bar;
        add_chains(box, driver, drive, torque_nm, site, list);
        if (list.empty() && use == Use::tighten) {
            const bool range = std::any_of(box.tools.begin(), box.tools.end(), [&](const Tool& tool) {
                return tool.kind == ToolKind::torque_wrench && torque_nm >= tool.low_nm && torque_nm <= tool.high_nm;
            });
            missing = range ? fmt::format("{} that goes on a torque wrench for {} N·m", wanted_name(drive, true),
                                          print_number(torque_nm))
                            : fmt::format("torque wrench for {} N·m", print_number(torque_nm));
        }
        return list;
    }
    add_chains(box, ToolKind::ratchet, drive, torque_nm, site, list);
    const double flats = gripped_mm(drive);
    for (const Tool& tool : box.tools) {
        if (fits(tool, drive, ToolKind::ring))
            list.push_back(ring_spanner(tool, flats, site));
        else if (drive.kind == DriveKind::hex && fits(tool, drive, ToolKind::open))
            list.push_back(open_spanner(tool, flats, site));
        else if (fits(tool, drive, ToolKind::screwdriver))
            list.push_back(screwdriver(tool, site));
        else if (fits(tool, drive, ToolKind::key)) {
            list.push_back(bent_key(tool, false, site));
            list.push_back(bent_key(tool, true, site));
        }
    }
    // Rings before open ends, which slip.
    std::stable_sort(list.begin(), list.end(), [](const ToolShape& a, const ToolShape& b) {
        return !a.name.starts_with("open") && b.name.starts_with("open");
    });
    if (list.empty())
        missing = is_owned(box, drive, {ToolKind::socket, ToolKind::deep_socket, ToolKind::bit})
                      ? wanted_name(drive) + " that goes over what stands out, or a ratchet of its square"
                      : wanted_name(drive);
    if (use == Use::hold)
        for (ToolShape& shape : list)
            shape.need = std::min(shape.need, 0);
    return list;
}

ToolShape straight_grip(DriveKind kind, double surface_m) {
    ToolShape shape;
    shape.need = -1;
    const double low = surface_m + grip_off_m;
    const bool pliers = kind == DriveKind::pliers;
    shape.name = pliers ? "pliers" : "by hand";
    const double thin = pliers ? jaw_m : finger_m;
    shape.rings = {{low, low + thin, 0, pliers ? jaw_radius_m : finger_radius_m, 0},
                   {low + thin, low + thin + (pliers ? grip_m : hand_m), 0, pliers ? grip_radius_m : hand_radius_m, 0}};
    return shape;
}

} // namespace boltwalk::reaching
