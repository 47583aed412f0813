#include "viewer/panels/bookmark.hpp"

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

namespace boltwalk {

namespace {

using nlohmann::json;

json parsed(std::string_view text) {
    json made = json::parse(text, nullptr, false);
    return made.is_object() ? made : json();
}

void take(const json& from, const char* key, bool& into) {
    if (const auto found = from.find(key); found != from.end() && found->is_boolean())
        into = found->get<bool>();
}

/// Finite, and within bounds; else it is left.
bool take(const json& from, const char* key, double low, double high, double& into) {
    const auto found = from.find(key);
    if (found == from.end() || !found->is_number())
        return false;
    const double value = found->get<double>();
    if (!std::isfinite(value) || value < low || value > high)
        return false;
    into = value;
    return true;
}

std::size_t entries_of(const View& view) {
    return view.keeper ? view.keeper->entries().size() : 0;
}

} // namespace

std::string bookmark_of(const View& view) {
    if (!view.session)
        return {};
    json mark;
    mark["bookmark"] = 1;
    mark["back"] = view.back;
    mark["at"] = view.at;
    mark["of"] = steps_of(view);
    mark["entries"] = entries_of(view);
    mark["begun"] = view.start_read;
    mark["marking"] = view.marking != nullptr;
    mark["labels"] = view.labels;
    mark["estimates"] = view.estimates;
    mark["see_through"] = view.see_through;
    mark["head_forward"] = view.lying == Lying::head_forward;
    mark["head_rearward"] = view.lying == Lying::head_rearward;
    if (view.by_hand) {
        const Camera& camera = view.flight.to;
        mark["camera"] = {{"x", camera.target.x},      {"y", camera.target.y},
                          {"z", camera.target.z},      {"distance_m", camera.distance_m},
                          {"yaw_deg", camera.yaw_deg}, {"pitch_deg", camera.pitch_deg},
                          {"turned", camera.turned}};
    }
    return mark.dump();
}

bool take_bookmark(View& view, std::string_view text) {
    const json mark = parsed(text);
    if (!view.session || !mark.contains("bookmark"))
        return false;
    take(mark, "labels", view.labels);
    take(mark, "estimates", view.estimates);
    take(mark, "see_through", view.see_through);
    bool forward = false, rearward = false;
    take(mark, "head_forward", forward);
    take(mark, "head_rearward", rearward);
    view.lying = forward ? Lying::head_forward : rearward ? Lying::head_rearward : Lying::as_seen;
    bool back = false;
    take(mark, "back", back);
    if (back)
        take_way(view, true);
    double at = 0, of = 0;
    double entries = -1;
    take(mark, "entries", 0, 1e9, entries);
    // What was entered since counts for more: then the walk stands where its log says.
    if (std::size_t(std::max(entries, 0.0)) != entries_of(view) && view.done.resumed) {
        view.motion = 1;
        view.flight.t = 1;
        return true;
    }
    // A plan of another length is another plan: its steps are not these.
    if (take(mark, "of", 0, 1e6, of) && std::size_t(of) == steps_of(view) && take(mark, "at", 0, of, at))
        go_to(view, std::size_t(at));
    if (const auto found = mark.find("camera"); found != mark.end() && found->is_object()) {
        Camera camera = view.flight.to;
        const json& c = *found;
        constexpr double FAR = 1e4;
        if (take(c, "x", -FAR, FAR, camera.target.x) && take(c, "y", -FAR, FAR, camera.target.y) &&
            take(c, "z", -FAR, FAR, camera.target.z) && take(c, "distance_m", 1e-4, FAR, camera.distance_m) &&
            take(c, "yaw_deg", -FAR, FAR, camera.yaw_deg) && take(c, "pitch_deg", -90, 90, camera.pitch_deg)) {
            take(c, "turned", camera.turned);
            turn_by_hand(view, camera);
        }
    }
    view.motion = 1;
    view.flight.t = 1;
    return true;
}

bool was_marking(std::string_view text) {
    bool marking = false;
    take(parsed(text), "marking", marking);
    return marking;
}

std::string settings_of(const View& view, const Screen& screen, bool corrected) {
    json all;
    all["settings"] = 1;
    all["night"] = view.night;
    all["aloud"] = view.aloud;
    all["reach"] = name_of(view.reach);
    all["unit"] = torque_unit_sign(view.unit);
    if (corrected)
        all["px_per_mm"] = screen.px_per_mm;
    return all.dump();
}

bool take_settings(View& view, Screen& screen, bool& corrected, std::string_view text) {
    const json all = parsed(text);
    if (!all.contains("settings"))
        return false;
    take(all, "night", view.night);
    take(all, "aloud", view.aloud);
    if (const auto found = all.find("reach"); found != all.end() && found->is_string())
        for (int i = 0; i < REACHES; ++i)
            if (name_of(Distance(i)) == found->get<std::string>())
                view.reach = Distance(i);
    if (const auto found = all.find("unit"); found != all.end() && found->is_string())
        if (const auto unit = read_torque_unit(found->get<std::string>()))
            take_unit(view, *unit);
    if (take(all, "px_per_mm", 40 / 25.4, 600 / 25.4, screen.px_per_mm))
        corrected = true;
    return true;
}

} // namespace boltwalk
