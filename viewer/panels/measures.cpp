#include "viewer/panels/measures.hpp"

#include <algorithm>
#include <cmath>

namespace boltwalk {

namespace {
constexpr double CAPITAL_MM_PER_M = 6.4; // 22' of arc: 2 tan(11') m, rounded as the design does
constexpr double HANDHELD_BELOW_MM = 254, HELD_TARGET_MM = 10, HELD_GAP_MM = 2;
constexpr double GLOVE_TARGET_MM = 20, GLOVE_MAIN_MM = 25, GLOVE_GAP_MM = 6;
constexpr double MOUSE_TARGET_MM = 9, MOUSE_MAIN_MM = 13, MOUSE_GAP_MM = 1.6;
} // namespace

std::string_view name_of(Distance reach) {
    switch (reach) {
    case Distance::desk:
        return "desk";
    case Distance::hand:
        return "hand";
    case Distance::bench:
        return "bench";
    case Distance::helper:
        return "helper";
    }
    return "desk";
}

std::string_view spoken(Distance reach) {
    switch (reach) {
    case Distance::desk:
        return "At a desk, with a mouse";
    case Distance::hand:
        return "In the hand, 0.5 m";
    case Distance::bench:
        return "On the bench, 1 m";
    case Distance::helper:
        return "For the helper, 3 m";
    }
    return "";
}

double distance_m(Distance reach) {
    switch (reach) {
    case Distance::bench:
        return 1;
    case Distance::helper:
        return 3;
    default:
        return 0.5;
    }
}

double capital_height_mm(Distance reach) {
    return CAPITAL_MM_PER_M * distance_m(reach);
}

Screen screen_of(int width_px, int height_px, int width_mm, int height_mm) {
    if (width_px <= 0 || height_px <= 0 || width_mm <= 0 || height_mm <= 0)
        return {};
    const double across = double(width_px) / width_mm, down = double(height_px) / height_mm;
    const double dots_an_inch = 25.4 * 0.5 * (across + down);
    if (std::abs(across - down) > 0.15 * std::max(across, down) || dots_an_inch < 40 || dots_an_inch > 600)
        return {};
    return {0.5 * (across + down), true};
}

Sizes sizes_for(Distance reach, const Screen& screen) {
    const auto px = [&](double mm) { return float(std::round(mm * screen.px_per_mm)); };
    const bool glove = reach != Distance::desk;
    Sizes sizes;
    // Rounded up: the height asked for is the least one.
    sizes.text = float(std::ceil(capital_height_mm(reach) * screen.px_per_mm * SIZE_PER_CAPITAL));
    // From 3 m every line counts: the headline is told by its weight alone.
    sizes.heading = reach == Distance::helper ? sizes.text : std::round(sizes.text * 1.25F);
    sizes.figure = sizes.text * 2;
    sizes.gap = px(glove ? GLOVE_GAP_MM : MOUSE_GAP_MM);
    sizes.pad = std::round(std::max(sizes.gap * 0.6F, sizes.text * (reach == Distance::helper ? 0.2F : 0.45F)));
    sizes.icon = px(glove ? GLOVE_TARGET_MM : MOUSE_TARGET_MM);
    sizes.target = std::max(sizes.icon, std::round(sizes.text * 1.5F));
    sizes.turn = reach == Distance::helper ? sizes.icon : sizes.target;
    sizes.main = std::max(px(glove ? GLOVE_MAIN_MM : MOUSE_MAIN_MM), std::round(sizes.text * 1.7F));
    sizes.line = std::max(1.0F, px(0.35));
    return sizes;
}

Sizes sizes_in(Distance reach, const Screen& screen, float width, float height) {
    const double across_mm = std::hypot(double(width), double(height)) / screen.px_per_mm;
    if (distance_m(reach) > 0.5 || across_mm >= HANDHELD_BELOW_MM)
        return sizes_for(reach, screen);
    Sizes sizes = sizes_for(Distance::desk, screen);
    const auto px = [&](double mm) { return float(std::round(mm * screen.px_per_mm)); };
    sizes.handheld = true;
    sizes.gap = px(HELD_GAP_MM);
    sizes.icon = px(HELD_TARGET_MM);
    sizes.target = sizes.turn = std::max(sizes.icon, std::round(sizes.text * 1.5F));
    // On its side such a screen is so low that a quarter of it is as much as there is.
    sizes.main = std::max(std::min(px(GLOVE_MAIN_MM), std::round(height * 0.3F)), sizes.target);
    return sizes;
}

} // namespace boltwalk
