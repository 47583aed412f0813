#include "viewer/panels/seen.hpp"

#include <nlohmann/json.hpp>

#include "core/map/files.hpp"
#include "viewer/panels/letters.hpp"
#include "viewer/panels/marking.hpp"

namespace boltwalk {

namespace {

using nlohmann::json;

json box_of(const Box& box) {
    return json::array({box.x, box.y, box.w, box.h});
}

json state_of(const View& view, const Desk& desk) {
    json state;
    state["opening"] = view.opening ? json(view.opening->share()) : json();
    state["error"] = view.error;
    state["open"] = view.session != nullptr;
    state["start_read"] = view.session != nullptr && view.start_read;
    state["panel"] = title_of(view.panel);
    state["light"] = view.night ? "night" : "daylight";
    state["reach"] = name_of(view.reach);
    state["tools"] = view.wrenches ? json(view.wrenches->tools.size()) : json();
    state["moving"] = is_moving(view);
    state["explode"] = view.explode;
    state["labels"] = view.labels;
    state["estimates"] = view.estimates;
    state["studying"] = view.study != nullptr && !view.study->finished();
    state["tour"] = on_tour(view) != nullptr ? json(view.tour) : json();
    const auto* hidden = out_of_sight(view);
    state["out_of_sight"] = hidden != nullptr ? json(hidden->size()) : json();
    state["see_through"] = view.see_through;
    state["by_hand"] = view.by_hand;
    state["typing"] = desk.field_active;
    state["presses"] = desk.press.seen;
    state["told_in_sight"] = desk.told_in_sight;
    const Map* shown = view.marking ? &view.marking->map : view.session ? &view.session->map : nullptr;
    state["photo"] = shown != nullptr && view.photo >= 0 && std::size_t(view.photo) < shown->photos.size()
                         ? shown->photos[std::size_t(view.photo)].name
                         : "";
    if (view.marking) {
        const Marking& marking = *view.marking;
        json picked = json::array();
        for (const std::int32_t node : marking.picked)
            picked.push_back(marking.map.nodes[std::size_t(node)].name);
        json marked = json::array();
        for (const std::int32_t node : drawn_of_picked(marking))
            marked.push_back(marking.map.nodes[std::size_t(node)].name);
        state["marking"] = {{"picked", picked},
                            {"marked", marked}, // in the drawing
                            {"offering", marking.offering == KeyId::id ? "" : key_of(marking.offering).name},
                            {"asks_replace", asks_replace(marking)},
                            {"deeds", marking.done},
                            {"undone", marking.deeds.size() - marking.done},
                            {"findings", marking.findings.size()},
                            {"proposals", open_proposals(marking).size()},
                            {"unsaved", is_unsaved(marking)},
                            {"save_to", marking.save_to},
                            {"recovered", marking.recovered},
                            {"asks_scale", asks_scale(marking)},
                            {"asks_up", asks_up(marking)},
                            {"typed", marking.typed.size()},
                            {"said", marking.said}};
    } else {
        state["marking"] = json();
    }
    if (!view.session)
        return state;
    const Session& session = *view.session;
    state["way"] = view.back ? "refit" : "strip";
    state["at"] = view.at;
    state["steps"] = steps_of(view);
    state["steps_strip"] = session.strip.steps.size();
    state["steps_refit"] = session.refit.steps.size();
    state["findings"] = session.findings.size();
    state["picked"] = view.picked ? json(session.map[view.picked].name) : json();
    const auto& cards = view.back ? session.refit_cards : session.strip_cards;
    state["headline"] = at_end(view) ? json() : json(cards[view.at].headline);
    const Done& done = view.done;
    state["entries"] = view.keeper ? json(view.keeper->entries().size()) : json();
    state["said"] = done.said;
    state["stored"] = done.stored;
    state["storing"] = view.keeper && view.keeper->is_storing();
    state["where"] = view.keeper ? view.keeper->where() : "";
    state["hand_over_error"] = desk.hand_over_error;
    state["handed_over"] = view.hand_over ? json(view.hand_over->addresses()) : json();
    state["warning"] = view.keeper ? view.keeper->warning() : "";
    state["resumed"] = done.resumed;
    state["closed"] = is_closed(view);
    state["logged_way"] = done.now.state.refit ? "refit" : "strip";
    const Ticks ticks = ticks_of(view);
    state["round"] = ticks.turning != nullptr ? json(ticks.turn.round) : json();
    const auto wrench = wrench_now(view, ticks);
    state["wrench"] = wrench ? json(wrench->words) : json();
    const Camera camera = camera_now(view);
    state["camera"] = {{"yaw", camera.yaw_deg},
                       {"pitch", camera.pitch_deg},
                       {"distance_m", camera.distance_m},
                       {"target", {camera.target.x, camera.target.y, camera.target.z}}};
    return state;
}

json marks_of(const View& view, const Layout& layout) {
    json marks = json::array();
    if (!view.session || layout.drawing.empty() || is_moving(view))
        return marks;
    const Session& session = *view.session;
    const auto poses = poses_now(view);
    const Projection projection = project(camera_now(view), view.drawing_px, session.stage.bounds);
    for (const ItemId item : view.shot.next) {
        const auto mark = mark_of(session.stage, poses, item, projection, 4);
        if (!mark || mark->at.x < 0 || mark->at.y < 0 || mark->at.x >= view.drawing_px.x ||
            mark->at.y >= view.drawing_px.y)
            continue;
        const ItemId under = item_under(view, mark->at);
        marks.push_back({{"name", session.map[item].name},
                         {"at", {layout.drawing.x + float(mark->at.x), layout.drawing.y + float(mark->at.y)}},
                         {"under", under ? json(session.map[under].name) : json()}});
    }
    return marks;
}

} // namespace

std::string seen_text(const OnScreen& seen, const Ui& ui, const View& view, const Desk& desk, const Layout& layout,
                      float width, float height) {
    json report;
    report["window"] = {{"width", width},
                        {"height", height},
                        {"px_per_mm", desk.screen.px_per_mm},
                        {"display_stated", desk.screen.stated},
                        {"capital_mm", double(capital_height_px(ui)) / desk.screen.px_per_mm},
                        {"shape", layout.shape == Shape::wide   ? "wide"
                                  : layout.shape == Shape::swap ? "swap"
                                                                : "words"}};
    const ImFontAtlas& atlas = *ImGui::GetIO().Fonts;
    report["atlas"] = json::array({atlas.TexWidth, atlas.TexHeight});
    report["state"] = state_of(view, desk);
    report["areas"] = json::object();
    for (const auto& [name, box] : areas(layout))
        report["areas"][name] = box_of(box);
    report["controls"] = json::array();
    for (const Control& control : ui.book) {
        if (control.box.w < 1 || control.box.h < 1)
            continue; // scrolled out of sight
        report["controls"].push_back({{"id", control.id},
                                      {"label", control.label},
                                      {"role", control.role},
                                      {"box", box_of(control.box)},
                                      {"enabled", control.enabled},
                                      {"on", control.on},
                                      {"cut", control.cut},
                                      {"tight", control.tight},
                                      {"focused", control.id == ui.focus}});
    }
    report["marks"] = marks_of(view, layout);
    report["labels"] = json::array();
    for (const Box& box : seen.label_boxes)
        report["labels"].push_back(box_of(box));
    report["gnomon"] = {{"box", box_of(seen.gnomon)}, {"capital_mm", seen.gnomon_capital_px / desk.screen.px_per_mm}};
    report["model"] = box_of(seen.model);
    report["frames"] = seen.frames;
    report["settling"] = seen.settling;
    report["taken"] = {{"keys", seen.keys_taken}, {"buttons", seen.buttons_taken}};
    report["drawings"] = seen.drawings;
    report["first_swap_s"] = seen.first_swap_s;
    report["loaded_s"] = seen.loaded_s;
    return report.dump(1, ' ', false, json::error_handler_t::replace) + '\n';
}

void write_seen(const OnScreen& seen, const Ui& ui, const View& view, const Desk& desk, const Layout& layout,
                float width, float height) {
    put_whole(seen.path, seen_text(seen, ui, view, desk, layout, width, height));
}

} // namespace boltwalk
