#include "viewer/panels/view.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

#include "viewer/panels/marking.hpp"
#include "viewer/panels/walk.hpp"

namespace boltwalk {

namespace {
constexpr double STEP_SECONDS = 0.7, FLIGHT_SECONDS = 0.6, EXPLODE_PER_SECOND = 1.6;
constexpr double UNDER_DEG = -25;    // lower than that one looks up from under the vehicle
constexpr double FLIGHT_WAITS = 0.6; // of its own length: first one sees what leaves, then the view goes on

Rect whole(const View& view) {
    return {0, 0, view.drawing_px.x, view.drawing_px.y};
}

bool is_under(const Camera& camera) {
    return camera.pitch_deg < UNDER_DEG;
}

void fly_to(View& view, const Camera& wanted) {
    const Camera to = as_lying(wanted, is_under(wanted) ? view.lying : Lying::as_seen);
    view.flight = {camera_now(view), to, view.motion < 1 ? -FLIGHT_WAITS : 0};
    if (view.flight.from == to)
        view.flight.t = 1;
}

void pull_apart(const View& view, std::vector<Pose>& poses) {
    if (const Explosion* apart = explosion(view); apart != nullptr && view.explode > 0)
        pull_apart(view.session->eyes.solids, *apart, view.explode, poses);
}

/// The step's own, where one was found.
const StepView* step_view(const View& view) {
    const Session& session = *view.session;
    const auto& views = view.back ? session.refit_views : session.strip_views;
    const std::size_t shot = view.at + 1;
    return !at_end(view) && shot < views.size() && views[shot].found ? &views[shot] : nullptr;
}

std::vector<Pose> poses_at_rest(const View& view) {
    std::vector<Pose> poses = poses_of(view.session->job, view.session->stage, drawn_state(view));
    pull_apart(view, poses);
    show_bench(view.session->job, drawn_state(view), view.shot.next, poses);
    return poses;
}

} // namespace

Room room_of(const View& view) {
    // Labels stand beside what is next, so a little is kept free all round.
    const glm::dvec2 edge = 0.05 * view.drawing_px;
    return {view.drawing_px, {edge.x, edge.y, view.drawing_px.x - 2 * edge.x, view.drawing_px.y - 2 * edge.y}};
}

std::string_view title_of(Panel panel) {
    switch (panel) {
    case Panel::none:
        return "";
    case Panel::steps:
        return "Steps";
    case Panel::about:
        return "About";
    case Panel::findings:
        return "Findings";
    case Panel::find:
        return "Find";
    case Panel::display:
        return "Display";
    case Panel::help:
        return "Keys";
    case Panel::tray:
        return "Tray";
    case Panel::untorqued:
        return "Not torqued";
    case Panel::record:
        return "Log";
    case Panel::in_way:
        return "In the way";
    case Panel::needed:
        return "To have";
    case Panel::hand_over:
        return "Hand over";
    }
    return "";
}

const Plan& plan_of(const View& view) {
    return view.back ? view.session->refit : view.session->strip;
}
const State& drawn_state(const View& view) {
    return view.back ? view.shot.after : view.shot.before;
}
std::size_t steps_of(const View& view) {
    return view.session ? plan_of(view).steps.size() : 0;
}
bool at_bench(const View& view) {
    return view.session && !at_end(view) && at_bench(view.session->job, drawn_state(view), view.shot.next);
}
bool at_end(const View& view) {
    return view.at >= steps_of(view);
}
bool has_job(const View& view) {
    return view.session && !view.session->map.items.empty();
}
std::vector<std::int32_t> photos_shown(const View& view) {
    if (!is_walking(view) || at_end(view))
        return {};
    const auto& cards = view.back ? view.session->refit_cards : view.session->strip_cards;
    return view.at < cards.size() ? cards[view.at].photos : std::vector<std::int32_t>{};
}
bool is_walking(const View& view) {
    return view.session && view.start_read;
}

bool is_moving(const View& view) {
    return view.motion < 1 || view.flight.t < 1 || view.explode != view.explode_wanted || view.moving_labels.busy;
}

bool is_studying(const View& view) {
    return has_job(view) && view.study && !view.study->whole();
}

void go_to(View& view, std::size_t at) {
    if (!view.session)
        return;
    at = std::min(at, steps_of(view));
    if (view.panel != Panel::about) { // what was tapped belonged to the step before
        view.picked = {};
        view.pointed.clear();
    }
    view.moved_from = drawn_state(view);
    view.at = at;
    show_again(view);
    view.motion = 0;
    view.by_hand = false;
    look_at_step(view);
}

void show_again(View& view) {
    const Session& session = *view.session;
    const State start = start_of(session, view.back);
    const std::size_t count = steps_of(view);
    view.shot = shot_of(session.job, plan_of(view), start, view.at + 1);
    if (view.at >= count) { // past the last one: nothing is next, everything is as the plan leaves it
        view.shot = shot_of(session.job, plan_of(view), start, count);
        view.shot.before = count == 0 ? start : view.shot.after;
        view.shot.after = view.shot.before;
        view.shot.next.clear();
        view.shot.whole.clear();
        view.shot.holes.clear();
        view.shot.moves.clear();
        view.shot.labels.clear();
        view.shot.from = Place::not_stated;
        if (view.keeper && view.done.now.begun && view.done.now.state.refit == view.back)
            view.shot.before = view.shot.after = view.done.now.state;
    } else if (is_as_logged(view)) {
        draw_as_logged(view);
    }
    judge_step(view);
}

void take_unit(View& view, TorqueUnit unit) {
    view.unit = unit;
    if (!view.session)
        return;
    Session& session = *view.session;
    for (std::size_t i = 0; i < session.refit.steps.size(); ++i)
        session.refit_cards[i] = card_of(session.job, session.refit, i, unit);
}

void step_on(View& view) {
    if (is_walking(view) && view.at < steps_of(view))
        go_to(view, view.at + 1);
}

void step_back(View& view) {
    if (is_walking(view) && view.at > 0)
        go_to(view, view.at - 1);
}

void take_way(View& view, bool back) {
    if (!view.session || view.back == back)
        return;
    view.moved_from = drawn_state(view);
    view.back = back;
    view.at = view.keeper ? progress_now(view).next : 0;
    show_again(view);
    view.motion = 0;
    view.by_hand = false;
    look_at_step(view);
}

void pick_item(View& view, ItemId item) {
    view.picked = item;
    view.pointed.clear();
    if (item)
        view.panel = Panel::about;
}

void unpick(View& view) {
    view.picked = {};
    view.scenery.clear();
    view.pointed.clear();
}

void pick_next(View& view, int by) {
    if (!view.session)
        return;
    const std::vector<ItemId>& items = view.shot.next;
    if (items.empty())
        return;
    const auto found = std::find(items.begin(), items.end(), view.picked);
    const auto count = std::ptrdiff_t(items.size());
    std::ptrdiff_t next = by > 0 ? 0 : count - 1;
    if (found != items.end())
        next = ((found - items.begin()) + by + count) % count;
    pick_item(view, items[std::size_t(next)]);
}

bool go_to_node(View& view, const std::string& name) {
    const Session& session = *view.session;
    for (std::size_t i = 0; i < session.map.nodes.size(); ++i) {
        const Node& node = session.map.nodes[i];
        if (node.name != name || !node.in_scene)
            continue;
        const ItemId own = find_item(session.map, name);
        if (own || node.item) {
            const ItemId item = own ? own : node.item;
            view.picked = item;
            view.pointed.clear();
            look_at(view, {item});
        } else if (!session.stage.node_bounds[i].empty()) {
            fly_to(view, fitted(camera_now(view), session.stage.node_bounds[i], view.drawing_px, 0.3));
        } else if (const auto group = find_group(session.map, name); group >= 0) {
            const auto& members = session.map.groups[std::size_t(group)].members;
            if (members.empty())
                return false;
            view.picked = members.front();
            view.pointed = members;
            look_at(view, members);
        } else {
            return false;
        }
        view.by_hand = true;
        return true;
    }
    return false;
}

const std::vector<OutOfSight>* out_of_sight(const View& view) {
    return view.study ? view.study->out_of_sight() : nullptr;
}

const Explosion* explosion(const View& view) {
    return view.study ? view.study->explosion() : nullptr;
}

const OutOfSight* on_tour(const View& view) {
    const auto* list = out_of_sight(view);
    if (list == nullptr || view.start_read || view.tour < 0 || std::size_t(view.tour) >= list->size())
        return nullptr;
    return &(*list)[std::size_t(view.tour)];
}

void tour_to(View& view, int number) {
    const auto* list = out_of_sight(view);
    view.tour = list != nullptr && number >= 0 && std::size_t(number) < list->size() ? number : -1;
    if (view.tour >= 0)
        look_at_step(view);
    else
        fly_to(view, fitted(turned_to({}, Place::not_stated), view.session->stage.bounds, view.drawing_px));
}

/// A tool stands where it is used next, never on what is done.
static void show_tool_in_turn(const View& view, Overlays& over) {
    const Ticks ticks = ticks_of(view);
    if (!view.keeper)
        only_first_tool(over, plan_of(view).steps[view.at]);
    if (ticks.turning != nullptr)
        only_tool_on(over, ticks.turn.next);
    else if (ticks.open > 0)
        std::erase_if(over.tools, [&](const ToolDrawn& tool) {
            const Tick* tick = tick_of(ticks, tool.fastener);
            return tick != nullptr && tick->is != Tick::Is::open;
        });
}

Overlays overlays_now(const View& view) {
    Overlays over;
    if (const OutOfSight* one = on_tour(view)) {
        over.glass = one->view.glass;
        return over;
    }
    if (!is_walking(view) || at_end(view) || view.motion < 1)
        return over;
    const auto* all = view.study ? view.study->overlays(view.back) : nullptr;
    // Pulled apart, nothing is where it was measured.
    if (view.estimates && view.explode == 0 && all != nullptr && view.at + 1 < all->size())
        over = (*all)[view.at + 1];
    if (const StepView* own = step_view(view); own != nullptr && !view.by_hand)
        over.glass = own->glass;
    if (!over.tools.empty())
        show_tool_in_turn(view, over);
    return over;
}

void look_at_all(View& view) {
    if (view.session)
        fly_to(view, fitted(camera_now(view), bounds_of(view.session->stage, poses_at_rest(view)), view.drawing_px));
}

void look_at_step(View& view) {
    if (!view.session)
        return;
    view.by_hand = false;
    if (const OutOfSight* one = on_tour(view); one != nullptr && one->view.found)
        fly_to(view, in_room(one->view.camera, view.session->room, room_of(view)));
    else if (const StepView* own = step_view(view); own != nullptr && is_walking(view))
        fly_to(view, in_room(own->camera, view.session->room, room_of(view)));
    else
        fly_to(view, camera_for(view.session->stage, poses_at_rest(view), view.shot, view.drawing_px, whole(view)));
}

void lie(View& view, Lying lying) {
    view.lying = lying;
    if (view.session && is_under(view.flight.to)) {
        const Camera turned = as_lying(view.flight.to, lying);
        view.flight = {turned, turned, 1};
    }
}

Lying lying_shown(const View& view) {
    const Camera& camera = view.flight.to;
    if (!view.session || !is_under(camera))
        return Lying::as_seen;
    return upright_of(camera).z > 0 ? Lying::head_forward : Lying::head_rearward;
}

bool is_from_under(const View& view) {
    return view.session && !at_end(view) && view.shot.from == Place::under;
}

void look_from(View& view, Place place) {
    if (!view.session)
        return;
    view.by_hand = true;
    const Camera turned = turned_to(camera_now(view), place);
    fly_to(view, fitted(turned, bounds_of(view.session->stage, poses_at_rest(view)), view.drawing_px));
}

void look_at(View& view, std::vector<ItemId> items) {
    const Session& session = *view.session;
    const std::vector<Pose> poses = poses_at_rest(view);
    Bounds bounds = bounds_of(session.stage, poses, items);
    if (bounds.empty())
        return;
    // What is small is shown with what is about it: a bolt that fills the picture tells nobody where it is.
    const double least = session.stage.bounds.radius() * 0.12;
    const glm::dvec3 middle = bounds.centre();
    bounds.add(middle - glm::dvec3(least));
    bounds.add(middle + glm::dvec3(least));
    fly_to(view, fitted(camera_now(view), bounds, view.drawing_px, 0.1));
}

void turn_by_hand(View& view, const Camera& camera) {
    view.flight = {camera, camera, 1};
    view.by_hand = true;
}

void explode_to(View& view, double share) {
    if (explosion(view) != nullptr)
        view.explode_wanted = std::clamp(share, 0.0, 1.0);
}

void advance(View& view, double seconds) {
    view.labels_s += seconds;
    view.motion = std::min(1.0, view.motion + seconds / STEP_SECONDS);
    view.flight.t = std::min(1.0, view.flight.t + seconds / FLIGHT_SECONDS);
    const double most = seconds * EXPLODE_PER_SECOND;
    view.explode += std::clamp(view.explode_wanted - view.explode, -most, most);
}

std::vector<Pose> poses_now(const View& view) {
    const Session& session = *view.session;
    if (view.motion >= 1)
        return poses_at_rest(view);
    std::vector<Pose> poses =
        poses_between(session.job, session.stage, view.moved_from, drawn_state(view), eased(view.motion));
    pull_apart(view, poses);
    show_bench(view.session->job, drawn_state(view), view.shot.next, poses);
    return poses;
}

Camera camera_now(const View& view) {
    if (view.flight.t >= 1)
        return view.flight.to;
    return between(view.flight.from, view.flight.to, std::max(0.0, view.flight.t));
}

} // namespace boltwalk
