#include <doctest/doctest.h>

#include "core/sheet/sheet.hpp"
#include "tests/shared/shapes.hpp"

using namespace boltwalk;
using namespace boltwalk::testing;

namespace {

/// A fastener whose mesh is a rod 8 mm thick and 30 mm long with a head 14 mm wide and 6 mm high on it, along +Y.
Fastener& bolt(Model& model) {
    Item item;
    item.kind = ItemKind::fastener;
    item.name = item.title = "bolt";
    item.detail = 0;
    item.node = 0;
    model.map.items.push_back(item);
    Fastener fastener;
    fastener.item = {0};
    model.map.fasteners.push_back(fastener);
    const auto add = [&](std::int32_t mesh, float middle) {
        Node node;
        node.mesh = mesh;
        node.item = {0};
        node.in_scene = true;
        node.world[13] = middle;
        model.map.nodes.push_back(node);
    };
    add(model.box({0.008F, 0.030F, 0.008F}), -0.015F);
    add(model.box({0.014F, 0.006F, 0.014F}), 0.003F);
    return model.map.fasteners.back();
}

Outline outline(const Model& model) {
    const Solids solids = make_solids(model.map);
    const auto found = outline_of(solids, heads_of(solids), model.map.fasteners.front());
    REQUIRE(found);
    return *found;
}

} // namespace

TEST_CASE("what is not stated is measured on the model, and says so") {
    Model model;
    bolt(model);
    const Outline o = outline(model);
    CHECK(o.head_height == doctest::Approx(6));
    CHECK(o.shank_length == doctest::Approx(30));
    // The circle about a square of 14 and 8 mm.
    CHECK(o.across == doctest::Approx(14 * std::sqrt(2.0)).epsilon(1e-4));
    CHECK(o.shank_width == doctest::Approx(8 * std::sqrt(2.0)).epsilon(1e-4));
    CHECK(o.across_from == Source::model);
    CHECK(o.height_from == Source::model);
    CHECK(o.width_from == Source::model);
    CHECK(o.length_from == Source::model);
}

TEST_CASE("stated sizes go before the model's") {
    Model model;
    Fastener& fastener = bolt(model);
    fastener.thread = read_thread("M10x1.25").value();
    fastener.length_mm = 40;
    fastener.drive = read_drive("hex 16").value();
    const Outline o = outline(model);
    CHECK(o.shank_width == 10);
    CHECK(o.shank_length == 40);
    // ISO 4014, M10 with 16 across flats: at least 17.77 across corners; a sharp hexagon has 18.48.
    CHECK(o.across == doctest::Approx(18.475).epsilon(1e-4));
    CHECK(o.sides == 6);
    CHECK(o.width_from == Source::stated);
    CHECK(o.length_from == Source::stated);
    CHECK(o.across_from == Source::stated);
    CHECK(o.height_from == Source::model);
}

TEST_CASE("a countersunk screw is as long as its length says, head and all") {
    Model model;
    Fastener& fastener = bolt(model);
    fastener.head = "countersunk";
    fastener.length_mm = 40;
    CHECK(outline(model).shank_length + outline(model).head_height == doctest::Approx(40));
}

TEST_CASE("a nut lies end on, a stud has no head") {
    Model model;
    Fastener& fastener = bolt(model);
    fastener.kind = FastenerKind::nut;
    CHECK(outline(model).shank_length == 0);
    CHECK(outline(model).head_height == 0);
    fastener.kind = FastenerKind::stud;
    CHECK(outline(model).head_height == 0);
    CHECK(outline(model).shank_length == doctest::Approx(36));
}

TEST_CASE("nothing stated and no shape: no outline") {
    Model model;
    bolt(model);
    model.map.nodes.clear();
    const Solids solids = make_solids(model.map);
    CHECK_FALSE(outline_of(solids, heads_of(solids), model.map.fasteners.front()));
    model.map.fasteners.front().thread = read_thread("M8").value();
    model.map.fasteners.front().length_mm = 20;
    const auto stated = outline_of(solids, heads_of(solids), model.map.fasteners.front());
    REQUIRE(stated);
    CHECK(stated->shank_width == 8);
    CHECK(stated->across == 0);
}

TEST_CASE("what has no shank has none by a rounding either") {
    for (const double below_mm : {0.0, 0.01, 0.5}) {
        Model model;
        bolt(model);
        model.map.fasteners.front().kind = FastenerKind::tab;
        // The plate alone, its foot that much below where its head begins.
        model.map.nodes.erase(model.map.nodes.begin());
        Node& head = model.map.nodes.front();
        head.mesh = model.box({0.014F, 0.006F, 0.014F});
        Node foot = head;
        foot.mesh = model.box({0.002F, 0.002F, 0.002F});
        foot.world[13] = float(0.001 - below_mm / 1000);
        model.map.nodes.push_back(foot);
        const Outline o = outline(model);
        CHECK(o.across == doctest::Approx(14 * std::sqrt(2.0)).epsilon(1e-4));
        CHECK(o.head_height == doctest::Approx(6));
        CHECK(o.shank_length == doctest::Approx(below_mm > 0.1 ? below_mm : 0));
    }
}
