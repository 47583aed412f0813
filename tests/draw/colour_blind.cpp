// Nothing by colour alone: what would be left of the palette to somebody who lacks one kind of cone.
//
// Simulation: Vienot, Brettel, Mollon 1999, "Digital video colourmaps for checking the legibility of displays by
// dichromats", for protan and deutan (matrices as linear RGB, worked out here from that paper's LMS matrix, from
// memory); for tritan the same projection with the plane through white and red's and cyan's wavelengths taken as the
// RGB primaries' own (after Brettel, Vienot, Mollon 1997; an approximation, from memory).
#include <algorithm>
#include <array>
#include <cmath>
#include <string>

#include <doctest/doctest.h>
#include <glm/glm.hpp>
#include <glm/gtc/matrix_transform.hpp>

#include "tests/shared/shapes.hpp"
#include "viewer/draw/draw.hpp"

using namespace boltwalk;

namespace {

enum class Lacks { l, m, s };
constexpr std::array<std::pair<Lacks, const char*>, 3> KINDS{
    {{Lacks::l, "protan"}, {Lacks::m, "deutan"}, {Lacks::s, "tritan"}}};

double linear(std::uint8_t channel) {
    const double share = channel / 255.0;
    return share <= 0.04045 ? share / 12.92 : std::pow((share + 0.055) / 1.055, 2.4);
}

glm::dvec3 linear(Colour c) {
    return {linear(c.r), linear(c.g), linear(c.b)};
}

/// Linear RGB to cones; Vienot and others' equation 4 (rows L, M, S).
glm::dmat3 to_cones() {
    return glm::transpose(
        glm::dmat3(17.8824, 43.5161, 4.11935, 3.45565, 27.1554, 3.86714, 0.0299566, 0.184309, 1.46709));
}

/// What is left of a colour: the missing cone answers as it would for the nearest colour on the plane through black,
/// white and one primary, which the other two cones alone decide.
glm::dvec3 seen_by(Lacks lacks, const glm::dvec3& rgb) {
    const glm::dmat3 cones = to_cones();
    glm::dvec3 lms = cones * rgb;
    const glm::dvec3 white = cones * glm::dvec3(1);
    const glm::dvec3 other = cones * (lacks == Lacks::s ? glm::dvec3(1, 0, 0) : glm::dvec3(0, 0, 1));
    const glm::dvec3 normal = glm::cross(white, other);
    const int k = int(lacks);
    double rest = 0;
    for (int i = 0; i < 3; ++i)
        rest += i == k ? 0 : normal[i] * lms[i];
    lms[k] = -rest / normal[k];
    return glm::clamp(glm::inverse(cones) * lms, 0.0, 1.0);
}

double luminance(const glm::dvec3& rgb) {
    return glm::dot(rgb, glm::dvec3(0.2126, 0.7152, 0.0722));
}

double contrast_between(const glm::dvec3& a, const glm::dvec3& b) {
    const double la = luminance(a);
    const double lb = luminance(b);
    return (std::max(la, lb) + 0.05) / (std::min(la, lb) + 0.05);
}

} // namespace

TEST_CASE("the simulation leaves greys as they are and makes of a lost pair of colours one") {
    for (const auto& [lacks, name] : KINDS) {
        CAPTURE(name);
        for (const double grey : {0.1, 0.5, 1.0})
            CHECK(glm::length(seen_by(lacks, glm::dvec3(grey)) - glm::dvec3(grey)) < 1e-6);
    }
    // Two lights that differ in the missing cone alone look alike: along that cone's axis of the first.
    const glm::dmat3 back = glm::inverse(to_cones());
    const glm::dvec3 base(0.4, 0.4, 0.4);
    for (const auto& [lacks, name] : KINDS) {
        glm::dvec3 shift(0);
        shift[int(lacks)] = 0.2;
        CAPTURE(name);
        CHECK(glm::length(seen_by(lacks, base) - seen_by(lacks, base + 0.2 * back * shift)) < 1e-6);
    }
}

TEST_CASE("text and marks keep their contrast for eyes that lack a kind of cone") {
    for (const bool night : {false, true}) {
        const Theme& t = theme_of(night);
        CAPTURE(night);
        double least_text = 21, least_mark = 21;
        for (const auto& [lacks, name] : KINDS) {
            CAPTURE(name);
            const auto between = [&, kind = lacks](Colour a, Colour b) {
                return contrast_between(seen_by(kind, linear(a)), seen_by(kind, linear(b)));
            };
            for (const Colour ink : {t.text, t.text_soft})
                for (const Colour ground : {t.paper, t.panel, t.label, t.row})
                    least_text = std::min(least_text, between(ink, ground));
            least_text = std::min(least_text, between(t.action_text, t.action));
            for (const Colour mark :
                 {t.caution, t.fault, t.doubt, t.note, t.done, t.accent, t.label_edge, t.panel_edge})
                for (const Colour ground : {t.paper, t.panel, t.label})
                    least_mark = std::min(least_mark, between(mark, ground));
            least_mark = std::min(least_mark, between(t.paint, t.paint_edge));
        }
        MESSAGE(std::string(night ? "night" : "daylight")
                << ": least contrast of text " << least_text << ", of marks " << least_mark);
        CHECK(least_text >= 10);
        CHECK(least_mark >= 3);
    }
}

namespace {

/// The pictures of a bolt on a block, one for each meaning that the drawing marks.
struct Bench : testing::Model {
    ItemId block, bolt;
    OffscreenContext context;
    Stage stage;
    DrawingHandle drawing;
    Bench() {
        auto opened = open_offscreen();
        REQUIRE(opened);
        context = std::move(*opened);
        block = part("block", box({0.3F, 0.3F, 0.1F}), {0, 0, -0.05}, true);
        const glm::dmat4 forward = glm::rotate(glm::dmat4(1.0), glm::radians(90.0), glm::dvec3(1, 0, 0));
        bolt = fastener("bolt", rods({{0.02F, 0.02F}, {0.04F, 0.03F}}, 24), forward, {block});
        stage = make_stage(map);
        auto made = make_drawing(stage);
        REQUIRE(made);
        drawing = std::move(*made);
    }
    Pixels picture(bool night, bool next, bool painted, bool selected) {
        Frame frame;
        frame.width_px = 320;
        frame.height_px = 240;
        frame.camera.yaw_deg = 12;
        frame.camera.pitch_deg = 14;
        frame.camera.distance_m = 0.7;
        frame.gnomon = false;
        frame.night = night;
        if (next)
            frame.next = {bolt};
        if (selected)
            frame.selected = {bolt};
        if (painted) {
            frame.painted.assign(map.items.size(), 0);
            frame.painted[std::size_t(bolt.index)] = 1;
        }
        auto pixels = render(*drawing, frame);
        REQUIRE(pixels);
        return *pixels;
    }
};

/// Pixels that differ in lightness alone by 1.5 to 1 or more, for those eyes.
int told_apart(Lacks lacks, const Pixels& a, const Pixels& b) {
    int count = 0;
    for (std::size_t i = 0; i + 2 < a.rgb.size(); i += 3) {
        const Colour one{a.rgb[i], a.rgb[i + 1], a.rgb[i + 2]};
        const Colour other{b.rgb[i], b.rgb[i + 1], b.rgb[i + 2]};
        count += !(one == other) && contrast_between(seen_by(lacks, linear(one)), seen_by(lacks, linear(other))) >= 1.5
                     ? 1
                     : 0;
    }
    return count;
}

} // namespace

TEST_CASE("what is next, torqued or selected is told by lightness and shape alone, whatever cone is lacking") {
    Bench bench;
    for (const bool night : {false, true}) {
        const Pixels plain = bench.picture(night, false, false, false);
        const std::array<std::pair<Pixels, const char*>, 3> marked{
            {{bench.picture(night, true, false, false), "next"},
             {bench.picture(night, false, true, false), "torqued"},
             {bench.picture(night, false, false, true), "selected"}}};
        for (const auto& [lacks, name] : KINDS) {
            for (std::size_t i = 0; i < marked.size(); ++i) {
                CAPTURE(night);
                CAPTURE(std::string(name));
                CAPTURE(std::string(marked[i].second));
                const int from_plain = told_apart(lacks, plain, marked[i].first);
                CHECK(from_plain >= 60);
                for (std::size_t k = i + 1; k < marked.size(); ++k)
                    CHECK(told_apart(lacks, marked[i].first, marked[k].first) >= 60);
                MESSAGE(std::string(night ? "night, " : "daylight, ")
                        << std::string(name) << ", " << std::string(marked[i].second) << ": " << from_plain
                        << " pixels told from a plain one");
            }
        }
    }
}
