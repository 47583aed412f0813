#include "viewer/panels/picture.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

#include "viewer/panels/walk.hpp"

namespace boltwalk {

namespace {

// Of the drawing at scale 1: its smallest letters, by the em (viewer/draw), and Dear ImGui's size for the same em.
constexpr double DRAWING_EM_PX = 14.5, SIZE_PER_EM = 3408.0 / 2816.0;
constexpr double NUMBER_RADIUS = 0.75;                ///< in the letters' size
constexpr double ROWS_LEAST = 16, LETTERS_LEAST = 20; ///< of the drawing's letters, that it has room for

/// Of the drawing's own letters: as large as those beside it, where it has room for them.
double letters_px(double text_px, glm::dvec2 drawing_px) {
    return std::min({text_px, drawing_px.y / ROWS_LEAST, drawing_px.x / LETTERS_LEAST});
}

/// The paint stroke says that a final torque was logged.
void show_painted(const View& view, Frame& frame) {
    const Session& session = *view.session;
    frame.painted.clear();
    if (!view.keeper)
        return;
    frame.painted.assign(session.map.items.size(), 0);
    for (std::size_t f = 0; f < view.done.now.sites.size(); ++f)
        if (view.done.now.sites[f].final_torque)
            frame.painted[std::size_t(session.map.fasteners[f].item.index)] = 1;
}

bool is_numbered(const View& view, const Ticks& ticks) {
    return is_walking(view) && !at_end(view) && ticks.all.size() > 1 && ticks.all.front().item;
}

/// Everything that the view says of it: camera, poses, marks, labels to be placed, estimates.
void show_view(const View& view, Frame& frame) {
    const Session& session = *view.session;
    frame.camera = camera_now(view);
    fill_frame(session.job, session.stage, view.shot, 0, frame);
    frame.poses = poses_now(view);
    frame.caption = {};
    if (view.back) // the arrow shows the way out; what is drawn is in already
        frame.moves.clear();
    show_painted(view, frame);
    frame.night = view.night;
    frame.xray = view.see_through;
    if (!is_walking(view)) {
        frame.next.clear();
        frame.whole.clear();
        frame.holes.clear();
        frame.moves.clear();
        frame.labels.clear();
    }
    if (const OutOfSight* one = on_tour(view))
        frame.next = {one->fastener};
    frame.over = overlays_now(view);
    tell_ways(frame.over, frame.labels, frame.caption);
    if (!view.labels || view.motion < 1) {
        frame.labels.clear();
        without_words(frame.over); // nothing estimated without its word
    }
    if (view.picked)
        frame.selected.push_back(view.picked);
    for (const ItemId item : view.pointed)
        if (item != view.picked)
            frame.selected.push_back(item);
}

/// Beside the heads of the step's fasteners, off one another, `seconds` after those before; none while the step moves,
/// or where there is one item alone.
std::vector<StepNumber> numbers_of(const View& view, double text_px, glm::dvec2 size_px,
                                   const std::vector<StepNumber>& before, bool rests, double seconds) {
    const Ticks ticks = ticks_of(view);
    if (!is_numbered(view, ticks) || view.motion < 1)
        return {};
    const Session& session = *view.session;
    const std::vector<Pose> poses = poses_now(view);
    const Projection projection = project(camera_now(view), size_px, session.stage.bounds);
    std::vector<StepNumber> heads;
    for (const Tick& tick : ticks.all) {
        if (!tick.item || !session.map.is_fastener(tick.item))
            continue;
        const auto mark = mark_of(session.stage, poses, tick.item, projection, 6);
        if (!mark || mark->at.x < 0 || mark->at.y < 0 || mark->at.x > size_px.x || mark->at.y > size_px.y)
            continue;
        StepNumber one;
        one.tick = tick;
        one.head = mark->at;
        one.head_px = mark->radius_px;
        one.radius = letters_px(text_px, size_px) * NUMBER_RADIUS;
        heads.push_back(one);
    }
    return move_numbers(heads, before, size_px, rests, seconds);
}

/// Labels and plumb lines that are left out; whether a tool is drawn is another matter.
std::size_t missing_in(const Frame& frame) {
    const auto tool = std::int32_t(frame.labels.size() + frame.over.plumbs.size());
    return std::size_t(std::count_if(frame.layout.left_out.begin(), frame.layout.left_out.end(),
                                     [&](std::int32_t wish) { return wish < tool; }));
}

/// Letters were chosen when the labels came; what stands beside them may have gone elsewhere since. Where fewer are
/// left out with letters chosen now, all go and come anew with those: once while the picture rests.
void weigh_anew(View& view, std::span<const Rect> reserved, Picture& picture, const Frame& frame) {
    if (view.moving_labels.busy || std::exchange(picture.weighed, true) || missing_in(frame) == 0)
        return;
    const Stage& stage = view.session->stage;
    Frame anew = frame;
    anew.layout = {};
    fit_letters(stage, reserved, anew);
    place_labels(stage, reserved, anew);
    if (missing_in(anew) >= missing_in(frame))
        return;
    picture.letters_due = anew.letters;
    view.moving_labels.all_go = view.moving_labels.busy = true;
}

/// Labels go along with what they name while anything moves, and settle when it rests. `settled`: so have the numbers.
void label_drawing(View& view, std::span<const Rect> reserved, bool rests, bool settled, Picture& picture,
                   Frame& frame) {
    const Stage& stage = view.session->stage;
    const Frame& before = picture.frame;
    const double seconds = std::exchange(view.labels_s, 0);
    if (!rests)
        picture.letters_due.reset();
    if (before.labels != frame.labels || before.over.tracks != frame.over.tracks ||
        before.over.plumbs != frame.over.plumbs || before.width_px != frame.width_px ||
        before.height_px != frame.height_px || before.scale != frame.scale || before.capital_px != frame.capital_px ||
        before.gnomon_at != frame.gnomon_at) {
        view.moving_labels = {};
        picture.letters_due.reset();
    } else {
        frame.layout = before.layout;
        frame.letters = before.letters;
        if (before.over.tools != frame.over.tools) // it goes on to another bolt, and its words come up there
            without_tool(view.moving_labels, frame);
    }
    // On its way to another view nothing is worth reading: they come when it is there.
    if (view.flight.t < 1 && view.moving_labels.held.empty()) {
        frame.layout = {};
        return;
    }
    if (view.moving_labels.held.empty()) { // none is seen to grow
        if (picture.letters_due)
            frame.letters = *picture.letters_due;
        else
            fit_letters(stage, reserved, frame);
        picture.letters_due.reset();
    }
    move_labels(stage, reserved, rests, seconds, view.moving_labels, frame);
    if (!rests) { // and then once more, at rest
        view.moving_labels.busy = true;
        picture.weighed = false;
    } else if (settled) {
        weigh_anew(view, reserved, picture, frame);
    }
}

} // namespace

void size_frame(double text_px, double density, const Box& box, Frame& frame) {
    const double w = double(box.w), h = double(box.h);
    frame.width_px = int(std::lround(w * density));
    frame.height_px = int(std::lround(h * density));
    frame.capital_px = text_px * density / SIZE_PER_CAPITAL;
    frame.scale = letters_px(text_px, {w, h}) * density / (DRAWING_EM_PX * SIZE_PER_EM);
}

void next_picture(View& view, double text_px, double density, const Box& box, Picture& picture) {
    const Stage& stage = view.session->stage;
    Frame frame;
    size_frame(text_px, density, box, frame);
    show_view(view, frame);
    const Frame& before = picture.frame;
    const bool rests = before.camera == frame.camera && before.poses == frame.poses &&
                       before.width_px == frame.width_px && before.height_px == frame.height_px;
    picture.numbers = numbers_of(view, text_px, {box.w, box.h}, picture.numbers, rests, view.labels_s);
    const std::vector<Rect> number_places = number_boxes(picture.numbers, float(density));
    const bool settled = rests && view.flight.t >= 1 && !are_fading(picture.numbers);
    // It stays where it is while somebody turns the picture, and while a number goes elsewhere: that comes first.
    if (settled && !view.by_hand)
        picture.gnomon_at = best_for_gnomon(stage, number_places, frame);
    frame.gnomon_at = picture.gnomon_at;
    label_drawing(view, number_places, rests, settled, picture, frame);
    view.moving_labels.busy = view.moving_labels.busy || are_fading(picture.numbers);
    picture.frame = std::move(frame);
}

} // namespace boltwalk
