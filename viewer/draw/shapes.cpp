#include "viewer/draw/shapes.hpp"

#include <algorithm>
#include <cmath>

namespace boltwalk {

namespace {

enum Kind { letter, box, ring, triangle };

float small(double value) {
    return static_cast<float>(value);
}

/// A quad about `middle`, its axes `u` and `v` (unit vectors), its half sizes `half`.
void add_quad(Shapes& shapes, glm::dvec2 middle, glm::dvec2 u, glm::dvec2 v, glm::dvec2 half, Shapes::Corner corner) {
    for (const glm::dvec2 side : {glm::dvec2(-1, -1), glm::dvec2(1, -1), glm::dvec2(-1, 1), glm::dvec2(1, 1)}) {
        const glm::dvec2 local = side * half;
        const glm::dvec2 place = middle + u * local.x + v * local.y;
        corner.place = {small(place.x), small(place.y)};
        corner.local = {small(local.x), small(local.y)};
        shapes.corners.push_back(corner);
    }
}

Shapes::Corner corner_of(Kind kind, std::array<float, 4> values, Colour fill, Colour rim) {
    Shapes::Corner corner{};
    corner.box = values;
    corner.fill = fill;
    corner.rim = rim;
    corner.third = {0, 0, static_cast<float>(kind)};
    return corner;
}

} // namespace

void add_box(Shapes& shapes, const Rect& rect, double radius, Colour fill, Colour rim, double rim_px) {
    const glm::dvec2 half(rect.width / 2, rect.height / 2);
    radius = std::min({radius, half.x, half.y});
    const auto corner =
        corner_of(box, {small(half.x), small(half.y), small(radius), small(rim_px)}, fill, rim_px > 0 ? rim : fill);
    add_quad(shapes, {rect.x + half.x, rect.y + half.y}, {1, 0}, {0, 1}, half + 1.0, corner);
}

void add_line(Shapes& shapes, glm::dvec2 a, glm::dvec2 b, double width_px, Colour colour) {
    const double length = glm::length(b - a);
    const glm::dvec2 along = length > 1e-6 ? (b - a) / length : glm::dvec2(1, 0);
    const glm::dvec2 half(length / 2 + width_px / 2, width_px / 2);
    const auto corner = corner_of(box, {small(half.x), small(half.y), small(width_px / 2), 0}, colour, colour);
    add_quad(shapes, 0.5 * (a + b), along, {-along.y, along.x}, half + 1.0, corner);
}

void add_ring(Shapes& shapes, glm::dvec2 middle, double radius, double width_px, Colour colour, int dashes) {
    const auto corner =
        corner_of(ring, {small(radius), small(width_px), static_cast<float>(dashes), 0}, colour, colour);
    add_quad(shapes, middle, {1, 0}, {0, 1}, glm::dvec2(radius + width_px / 2 + 1.0), corner);
}

void add_disc(Shapes& shapes, glm::dvec2 middle, double radius, Colour colour) {
    add_box(shapes, {middle.x - radius, middle.y - radius, 2 * radius, 2 * radius}, radius, colour, colour, 0);
}

void add_triangle(Shapes& shapes, glm::dvec2 a, glm::dvec2 b, glm::dvec2 c, Colour colour) {
    const glm::dvec2 low = glm::min(glm::min(a, b), c);
    const glm::dvec2 high = glm::max(glm::max(a, b), c);
    const glm::dvec2 middle = 0.5 * (low + high);
    auto corner = corner_of(
        triangle, {small(a.x - middle.x), small(a.y - middle.y), small(b.x - middle.x), small(b.y - middle.y)}, colour,
        colour);
    corner.third[0] = small(c.x - middle.x);
    corner.third[1] = small(c.y - middle.y);
    add_quad(shapes, middle, {1, 0}, {0, 1}, 0.5 * (high - low) + 1.0, corner);
}

void add_text(Shapes& shapes, Face face, double size_px, std::string_view text, glm::dvec2 at, Colour colour) {
    if (shapes.atlas == nullptr)
        return;
    for (const PlacedGlyph& placed : set_line(*shapes.atlas, face, size_px, text, at)) {
        const Glyph& glyph = placed.glyph;
        const glm::dvec2 half(0.5 * glyph.width, 0.5 * glyph.height);
        // local must run from 0 to the bitmap's size, so the quad's own middle is put into the atlas corner.
        const auto corner = corner_of(letter, {small(glyph.x + half.x), small(glyph.y + half.y), 0, 0}, colour, colour);
        add_quad(shapes, {placed.x + half.x, placed.y + half.y}, {1, 0}, {0, 1}, half, corner);
    }
}

void add_arrow(Shapes& shapes, glm::dvec2 from, glm::dvec2 to, double width_px, Colour colour) {
    const double head = 3.2 * width_px;
    const double length = glm::length(to - from);
    if (length < head)
        return;
    const glm::dvec2 along = (to - from) / length;
    const glm::dvec2 across(-along.y, along.x);
    const glm::dvec2 neck = to - head * along;
    if (length > head + width_px)
        add_line(shapes, from, neck, width_px, colour);
    add_triangle(shapes, to, neck + 0.55 * head * across, neck - 0.55 * head * across, colour);
}

Colour faded(Colour colour, double share) {
    colour.a = static_cast<std::uint8_t>(std::lround(colour.a * std::clamp(share, 0.0, 1.0)));
    return colour;
}

} // namespace boltwalk
