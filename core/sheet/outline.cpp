// What of a fastener is drawn on the bolt board: stated sizes as they are, the rest as the model has it.
#include <algorithm>

#include "core/sheet/sheet.hpp"

namespace boltwalk {

namespace {

/// A regular hexagon's width across corners over that across its flats: 2 / sqrt(3).
constexpr double corners_over_flats = 1.1547005383792515;
constexpr double to_mm = 1000;
/// Less below the head is its own foot, as a file's numbers round it.
constexpr double least_shank_mm = 0.1;

/// How far the body reaches below its head, and how wide it is there, in millimetres.
struct Measured {
    double below = 0, width = 0;
};

Measured measure(const Solids& solids, const Head& head) {
    double lowest = 0, squared = 0;
    const double thin = head_radius_share * head.radius;
    each_triangle_of(solids, head.body, [&](const Triangle& t) {
        for (const glm::dvec3& point : {t.a, t.b, t.c}) {
            const glm::dvec3 from = point - head.base;
            const double along = glm::dot(from, head.axis);
            lowest = std::min(lowest, along);
            const glm::dvec3 across = from - along * head.axis;
            const double away = glm::dot(across, across);
            if (along < -1e-5 && away < thin * thin)
                squared = std::max(squared, away);
        }
    });
    return {-lowest * to_mm, 2 * std::sqrt(squared) * to_mm};
}

} // namespace

std::optional<Outline> outline_of(const Solids& solids, const std::vector<Head>& heads, const Fastener& fastener) {
    const Map& map = *solids.map;
    const Head& head = heads.at(static_cast<std::size_t>(map[fastener.item].detail));
    Outline out;
    if (head.body >= 0) {
        out.across = 2 * head.radius * to_mm;
        out.head_height = glm::length(head.top - head.base) * to_mm;
        const Measured measured = measure(solids, head);
        if (measured.below > least_shank_mm) {
            out.shank_length = measured.below;
            out.shank_width = measured.width;
        }
    }
    const bool flat = goes_over_a_shank(fastener.kind);
    if (flat || fastener.kind == FastenerKind::stud || fastener.kind == FastenerKind::pin ||
        fastener.kind == FastenerKind::split_pin) {
        // All of one width: what the head was taken for is all of it.
        if (!flat) {
            out.shank_length = std::max(out.shank_length, 0.0) + out.head_height;
            out.shank_width = out.across;
        }
        out.head_height = 0;
    }
    if (flat)
        out.shank_length = 0;
    if (fastener.drive && (fastener.drive->kind == DriveKind::hex || fastener.drive->kind == DriveKind::bihex)) {
        out.across = fastener.drive->size * corners_over_flats;
        out.across_from = Source::stated;
        out.sides = 6;
    }
    if (fastener.thread) {
        out.shank_width = fastener.thread->diameter_mm;
        out.width_from = Source::stated;
    }
    if (fastener.length_mm && !flat) {
        // A countersunk screw's length is over all (ISO 225).
        const double head_in_it = fastener.head == "countersunk" ? out.head_height : 0;
        out.shank_length = std::max(0.0, *fastener.length_mm - head_in_it);
        out.length_from = Source::stated;
    }
    if (out.across <= 0 && out.shank_width <= 0)
        return std::nullopt;
    return out;
}

} // namespace boltwalk
