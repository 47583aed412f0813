// What comes in from outside: a map that is opened, a list of tools, pictures.
#include <algorithm>
#include <array>
#include <chrono>
#include <string_view>
#include <utility>

#include "core/map/values.hpp"
#include "viewer/panels/marking.hpp"
#include "viewer/panels/view.hpp"
#include "viewer/panels/walk.hpp"

namespace boltwalk {

namespace {

/// By its name: what it holds is judged where it is taken.
bool is_picture(const std::string& path) {
    constexpr std::array<std::string_view, 10> suffixes{".jpg",  ".jpeg", ".jpe", ".png", ".heic",
                                                        ".heif", ".webp", ".gif", ".bmp", ".tif"};
    const std::string name = lower_case(path);
    return std::any_of(suffixes.begin(), suffixes.end(),
                       [&](std::string_view suffix) { return name.ends_with(suffix); });
}

/// Pieces until there was time enough for them; one at least.
void step_for(Opening& opening, std::chrono::milliseconds enough) {
    using clock = std::chrono::steady_clock;
    const clock::time_point began = clock::now();
    while (opening.step() && !opening.waiting() && clock::now() - began < enough) {
    }
}

} // namespace

void open(View& view, const std::string& path) {
    view.error.clear();
    view.choosing = false;
    view.opening = std::make_unique<Opening>(path, room_of(view));
}

bool take_tools(View& view, const std::string& path) {
    auto read = read_tools_of(path);
    if (!read) {
        view.error = read.error();
        return false;
    }
    view.wrenches = std::move(*read);
    view.panel = Panel::display; // it says which wrenches those are
    return true;
}

void take_dropped(View& view, const std::vector<std::string>& paths) {
    for (const std::string& path : paths) {
        if (lower_case(path).ends_with(".txt")) {
            take_tools(view, path);
            continue;
        }
        if (!is_picture(path)) {
            open(view, path);
            return;
        }
        if (view.marking)
            add_photo(*view.marking, path);
        else
            view.error =
                path + ": a picture is no map. In the marking room (F7) it becomes a photograph of what is picked.";
    }
}

void read_ahead(View& view) {
    if (ONE_THREAD && view.opening)
        step_for(*view.opening, std::chrono::milliseconds{150});
}

bool take_opened(View& view) {
    if (ONE_THREAD && view.opening)
        step_for(*view.opening, std::chrono::milliseconds{30});
    if (!view.opening || !view.opening->finished())
        return false;
    const std::unique_ptr<Opening> done = std::move(view.opening);
    if (!done->session) {
        if (!done->cancelled())
            view.error = done->error;
        return true;
    }
    view.study.reset();
    view.keeper.reset();
    if (view.hand_over)
        view.hand_over->stop();
    view.session = std::move(done->session);
    view.study = std::make_unique<Study>(*view.session);
    view.tour = -1;
    view.photo = -1;
    ++view.sessions;
    view.start_read = view.session->map.items.empty();
    view.back = false;
    view.at = 0;
    view.picked = {};
    view.pointed.clear();
    view.search.clear();
    view.explode = view.explode_wanted = 0;
    view.motion = 1;
    view.by_hand = false;
    view.panel = has_job(view) ? Panel::steps : Panel::none;
    if (view.unit != TorqueUnit::newton_metre)
        take_unit(view, view.unit);
    take_up_log(view);
    show_again(view);
    const Camera general = turned_to({}, Place::not_stated);
    const Camera all = fitted(general, view.session->stage.bounds, view.drawing_px);
    view.flight = {all, all, 1};
    return true;
}

} // namespace boltwalk
