#include "core/block/hardware.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

namespace boltwalk::recipe {

namespace {

constexpr int points = 24;
/// The chamfer of hexagons: 30 degrees, from 0.95 of the width (ISO 4014 has 15 to 30 degrees).
constexpr double face_share = 0.475;
constexpr double chamfer_slope = 0.57735;
constexpr double flange_slope = 0.4663; ///< 25 degrees (EN 1665: 15 to 30)

using Radii = std::array<double, points>;

double angle_of(int i) {
    return 2 * std::numbers::pi * i / points;
}

Radii round(double radius) {
    Radii r{};
    r.fill(radius);
    return r;
}

/// Of a regular polygon with `corners` corners, a divisor of 24.
Radii polygon(double flats, int corners) {
    Radii r{};
    const int each = points / corners;
    for (int i = 0; i < points; ++i)
        r[static_cast<std::size_t>(i)] =
            flats / 2 / std::cos(2 * std::numbers::pi * ((i % each) - each / 2.0) / points);
    return r;
}

/// Two hexagons across each other.
Radii bihexagon(double flats) {
    Radii r{};
    for (int i = 0; i < points; ++i)
        r[static_cast<std::size_t>(i)] =
            i % 2 == 0 ? flats / std::numbers::sqrt3 : flats / 2 / std::cos(std::numbers::pi / 12);
    return r;
}

/// Six lobes; the valleys at 0.72 of them (ISO 10664: B over A).
Radii lobes(double across) {
    Radii r{};
    for (int i = 0; i < points; ++i)
        r[static_cast<std::size_t>(i)] = across / 2 * (0.86 + 0.14 * std::cos(6 * angle_of(i)));
    return r;
}

Hoop hoop(const Radii& radii, double y) {
    Hoop out;
    for (int i = 0; i < points; ++i) {
        const double r = radii[static_cast<std::size_t>(i)];
        out.emplace_back(r * std::sin(angle_of(i)), y, r * std::cos(angle_of(i)));
    }
    return out;
}

/// Where a chamfer's cone meets the sides.
Hoop chamfered(const Radii& radii, double flats, double y, bool up) {
    Hoop out = hoop(radii, y);
    for (int i = 0; i < points; ++i) {
        const double drop = std::max(0.0, radii[static_cast<std::size_t>(i)] - face_share * flats) * chamfer_slope;
        out[static_cast<std::size_t>(i)].y += up ? -drop : drop;
    }
    return out;
}

/// A closed outline of 24 points from its corners: each stands at a number round the head, between them is straight.
Hoop outline(const std::vector<std::pair<int, glm::dvec2>>& corners, double y) {
    Hoop out(points);
    for (std::size_t k = 0; k < corners.size(); ++k) {
        const auto& [from, a] = corners[k];
        const auto& [next, b] = corners[(k + 1) % corners.size()];
        const int to = next > from ? next : next + points;
        for (int i = from; i < to; ++i) {
            const glm::dvec2 p = a + (b - a) * (static_cast<double>(i - from) / (to - from));
            out[static_cast<std::size_t>(i % points)] = {p.x, y, p.y};
        }
    }
    return out;
}

/// Long and narrow, along z. (x, z) of each corner.
Hoop slot(double half_long, double half_wide, double y) {
    return outline({{1, {half_wide, half_long}},
                    {11, {half_wide, -half_long}},
                    {13, {-half_wide, -half_long}},
                    {23, {-half_wide, half_long}}},
                   y);
}

Hoop cross(double half_long, double w, double y) {
    return outline({{1, {w, half_long}},
                    {3, {w, w}},
                    {5, {half_long, w}},
                    {7, {half_long, -w}},
                    {9, {w, -w}},
                    {11, {w, -half_long}},
                    {13, {-w, -half_long}},
                    {15, {-w, -w}},
                    {17, {-half_long, -w}},
                    {19, {-half_long, w}},
                    {21, {-w, w}},
                    {23, {-w, half_long}}},
                   y);
}

/// From the rim of the head's top down to the bottom of what the tool goes into.
void recess(std::vector<Hoop>& hoops, const HardwareForm& form, double top, double room) {
    const DriveKind kind = form.size.drive ? form.size.drive->kind : DriveKind::none;
    const double size = form.size.drive ? form.size.drive->size : 0;
    const double depth = form.size.detail_mm > 0 ? form.size.detail_mm : 0.4 * form.diameter_mm;
    const auto down = [&](const auto& shape) {
        hoops.push_back(shape(top));
        hoops.push_back(shape(top - depth));
    };
    if (kind == DriveKind::socket && size / 1.7 < room)
        down([&](double y) { return hoop(polygon(size, 6), y); });
    else if (kind == DriveKind::hexalobular) // across is about 0.93 of the thread in ISO 14579 (an estimate)
        down([&](double y) { return hoop(lobes(std::min(0.93 * form.diameter_mm, 1.6 * room)), y); });
    else if (kind == DriveKind::slot) // as wide as a quarter of the thread: ISO 1580's n is 0.2 to 0.27 d
        down([&](double y) { return slot(0.94 * room, std::min(0.125 * form.diameter_mm, 0.4 * room), y); });
    else if (kind == DriveKind::cross)
        down([&](double y) { return cross(std::min(0.55 * form.diameter_mm, 0.9 * room), 0.1 * form.diameter_mm, y); });
}

double flats_of(const HardwareForm& form) {
    return form.size.drive && form.size.drive->size > 0 ? form.size.drive->size : 1.6 * form.diameter_mm;
}

/// What a tool grips from outside, between two heights.
void gripped(std::vector<Hoop>& hoops, const HardwareForm& form, double low, double high, bool low_chamfer) {
    const DriveKind kind = form.size.drive ? form.size.drive->kind : DriveKind::hex;
    // The number of an external hexalobular drive is not its width; 0.93 mm a number, an estimate as elsewhere.
    const double flats = kind == DriveKind::external_hexalobular ? 0.93 * flats_of(form) : flats_of(form);
    if (kind == DriveKind::external_hexalobular || kind == DriveKind::bihex) {
        const Radii radii = kind == DriveKind::bihex ? bihexagon(flats) : lobes(flats);
        hoops.push_back(hoop(radii, low));
        hoops.push_back(hoop(radii, high));
        return;
    }
    const Radii radii = polygon(flats, kind == DriveKind::square ? 4 : 6);
    if (low_chamfer)
        hoops.push_back(hoop(round(face_share * flats), low));
    hoops.push_back(low_chamfer ? chamfered(radii, flats, low, false) : hoop(radii, low));
    hoops.push_back(chamfered(radii, flats, high, true));
    hoops.push_back(hoop(round(face_share * flats), high));
}

std::vector<Hoop> head_of(const HardwareForm& form) {
    const HardwareSize& size = form.size;
    const double d = form.diameter_mm;
    const double wide = size.width_mm / 2;
    const double k = size.height_mm;
    std::vector<Hoop> hoops;
    const auto ring = [&](double radius, double y) { hoops.push_back(hoop(round(radius), y)); };
    const bool keyed =
        size.drive && (size.drive->kind == DriveKind::socket || size.drive->kind == DriveKind::hexalobular);
    switch (form.shape) {
    case HardwareShape::flanged_bolt: {
        const double edge = std::min(size.detail_mm > 0 ? size.detail_mm : 0.15 * d, 0.5 * k);
        ring(wide, 0);
        ring(wide, edge);
        if (keyed) {
            ring(0.62 * wide, edge);
            ring(0.62 * wide, k);
            recess(hoops, form, k, 0.62 * wide);
            break;
        }
        const double grip = std::min(flats_of(form), 1.9 * wide);
        const double foot = std::min(edge + (wide - grip / 2) * flange_slope, 0.6 * k);
        gripped(hoops, form, foot, k, false);
        break;
    }
    case HardwareShape::cap_screw:
        ring(wide, 0);
        ring(wide, k - 0.04 * d);
        ring(wide - 0.04 * d, k);
        recess(hoops, form, k, wide - 0.04 * d);
        break;
    case HardwareShape::button_screw:
        ring(wide, 0);
        ring(0.985 * wide, 0.25 * k);
        ring(0.9 * wide, 0.55 * k);
        ring(0.74 * wide, 0.82 * k);
        ring(0.55 * wide, k);
        recess(hoops, form, k, 0.55 * wide);
        break;
    case HardwareShape::pan_screw:
        ring(wide, 0);
        ring(wide, 0.45 * k);
        ring(0.93 * wide, 0.75 * k);
        ring(0.72 * wide, k);
        recess(hoops, form, k, 0.72 * wide);
        break;
    case HardwareShape::countersunk_screw:
        ring(wide, 0);
        recess(hoops, form, 0, wide);
        break;
    case HardwareShape::headless_screw:
        recess(hoops, form, 0, d / 2);
        break;
    default:
        gripped(hoops, form, 0, k, false);
    }
    return hoops;
}

Shell closed(const std::vector<Hoop>& hoops) {
    Shell shell;
    shell.cap(Hoop(hoops.front().rbegin(), hoops.front().rend()));
    shell.loft(hoops);
    shell.cap(hoops.back());
    return shell;
}

Shell bolt(const HardwareForm& form) {
    const double radius = form.diameter_mm / 2;
    const double chamfer = std::min(0.08 * form.diameter_mm, 0.2 * form.length_mm);
    const double end = -form.length_mm;
    std::vector<Hoop> hoops{hoop(round(radius - chamfer), end), hoop(round(radius), end + chamfer)};
    // The cone of a countersunk head: from the shank to the widest, by the head's height.
    hoops.push_back(hoop(round(radius), form.shape == HardwareShape::countersunk_screw ? -form.size.height_mm : 0));
    const std::vector<Hoop> head = head_of(form);
    hoops.insert(hoops.end(), head.begin(), head.end());
    return closed(hoops);
}

Shell stud(const HardwareForm& form) {
    const double radius = form.diameter_mm / 2;
    const double chamfer = std::min(0.08 * form.diameter_mm, 0.2 * form.length_mm);
    const double low = -form.rooted_mm;
    const double high = form.length_mm - form.rooted_mm;
    return closed({hoop(round(radius - chamfer), low), hoop(round(radius), low + chamfer),
                   hoop(round(radius), high - chamfer), hoop(round(radius - chamfer), high)});
}

/// A ring about the thread: the outside from below upwards, then the hole.
Shell nut(const HardwareForm& form) {
    const double hole = form.diameter_mm / 2;
    const double m = form.size.height_mm;
    std::vector<Hoop> hoops{hoop(round(hole), 0)};
    if (form.shape == HardwareShape::flanged_nut) {
        const double wide = form.size.width_mm / 2;
        const double edge = std::min(form.size.detail_mm > 0 ? form.size.detail_mm : 0.15 * form.diameter_mm, 0.5 * m);
        hoops.push_back(hoop(round(wide), 0));
        hoops.push_back(hoop(round(wide), edge));
        gripped(hoops, form, std::min(edge + (wide - flats_of(form) / 2) * flange_slope, 0.6 * m), m, false);
    } else if (form.shape == HardwareShape::slotted_nut) {
        const double slots = form.size.detail_mm > 0 ? form.size.detail_mm : 0.65 * m;
        const double crown = 0.46 * flats_of(form);
        gripped(hoops, form, 0, slots, true);
        // Six notches, at the middles of the flats.
        Hoop outside = hoop(round(crown), m);
        Hoop inside = hoop(round(hole), m);
        hoops.push_back(hoop(round(crown), slots));
        for (int i = 2; i < points; i += 4) {
            outside[static_cast<std::size_t>(i)].y = slots + 0.05;
            inside[static_cast<std::size_t>(i)].y = slots + 0.05;
        }
        hoops.push_back(outside);
        hoops.push_back(inside);
        hoops.push_back(hoop(round(hole), 0));
        Shell shell;
        shell.loft(hoops);
        return shell;
    } else {
        gripped(hoops, form, 0, m, true);
    }
    hoops.push_back(hoop(round(hole), m));
    hoops.push_back(hoops.front());
    Shell shell;
    shell.loft(hoops);
    return shell;
}

Shell washer(const HardwareForm& form) {
    const double hole = form.size.detail_mm / 2 / std::cos(std::numbers::pi / points);
    const double wide = form.size.width_mm / 2;
    const double h = form.size.height_mm;
    Shell shell;
    shell.loft(
        {hoop(round(hole), 0), hoop(round(wide), 0), hoop(round(wide), h), hoop(round(hole), h), hoop(round(hole), 0)});
    return shell;
}

} // namespace

Shell drawn(const HardwareForm& form) {
    if (form.stud)
        return stud(form);
    switch (form.shape) {
    case HardwareShape::plain_nut:
    case HardwareShape::flanged_nut:
    case HardwareShape::slotted_nut:
        return nut(form);
    case HardwareShape::flat_washer:
        return washer(form);
    default:
        return bolt(form);
    }
}

HardwareSize by_proportion(HardwareShape shape, double d) {
    switch (shape) {
    case HardwareShape::flanged_bolt:
        return {2.2 * d, d, 0.15 * d, {}};
    case HardwareShape::cap_screw:
        return {1.6 * d, d, 0.5 * d, {}};
    case HardwareShape::button_screw:
        return {1.75 * d, 0.55 * d, 0.32 * d, {}};
    case HardwareShape::pan_screw:
        return {2 * d, 0.6 * d, 0.24 * d, {}};
    case HardwareShape::countersunk_screw:
        return {2.24 * d, 0.62 * d, 0.36 * d, {}};
    case HardwareShape::headless_screw:
        return {0, 0, 0.5 * d, {}};
    case HardwareShape::plain_nut:
        return {0, 0.85 * d, 0, {}};
    case HardwareShape::flanged_nut:
        return {2.2 * d, d, 0.15 * d, {}};
    case HardwareShape::slotted_nut:
        return {0, 1.2 * d, 0.8 * d, {}};
    case HardwareShape::flat_washer:
        return {2 * d, 0.2 * d, 1.05 * d, {}};
    case HardwareShape::hex_bolt:
        break;
    }
    return {0, 0.64 * d, 0, {}};
}

} // namespace boltwalk::recipe
