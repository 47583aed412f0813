// What was done and what happened, in words for buttons.
#include <algorithm>
#include <fmt/format.h>

#include "viewer/panels/facts.hpp"
#include "viewer/panels/walk.hpp"

namespace boltwalk {

std::string_view spoken(Mishap mishap) {
    switch (mishap) {
    case Mishap::absent:
        return "Was not there";
    case Mishap::wrong_piece:
        return "Wrong one was in";
    case Mishap::sheared:
        return "Sheared";
    case Mishap::stripped:
        return "Thread stripped";
    case Mishap::rounded:
        return "Rounded";
    case Mishap::stuck:
        return "Stuck, left for later";
    case Mishap::cut_off:
        return "Cut off";
    case Mishap::stud_came:
        return "Stud came with its nut";
    case Mishap::recut:
        return "Thread cut again";
    case Mishap::insert_fitted:
        return "Thread insert fitted";
    case Mishap::substitute:
        return "Another one fitted";
    case Mishap::lost:
        return "Lost";
    case Mishap::back_for_night:
        return "Back by hand for the night";
    }
    return "";
}

std::string done_words(const Step& step, int count, int all) {
    const auto of = [&](std::string_view one, std::string_view several) {
        if (all == 1)
            return std::string(one);
        return count == all ? fmt::format("All {} {}", all, several)
               : count == 1 ? fmt::format("The other one {}", several)
                            : fmt::format("The other {} {}", count, several);
    };
    switch (step.verb) {
    case Verb::set_vehicle:
        return "It is so";
    case Verb::do_task:
        return "Done";
    case Verb::soak:
        return of("Soaking", "soaking");
    case Verb::mark:
        return "Marked";
    case Verb::unload:
        return "Load is off";
    case Verb::prop:
        return "Propped";
    case Verb::prove:
        return of("Comes loose", "come loose");
    case Verb::drain:
        return "Drained";
    case Verb::loosen:
        return of("Undone", "undone");
    case Verb::take_out:
        return of("Out", "out");
    case Verb::let_down:
        return "Lowered";
    case Verb::set_aside:
        return "Aside";
    case Verb::take_off:
        return of("Off", "off");
    case Verb::transfer:
        return "Gone over";
    case Verb::fit:
        return of("Fitted", "fitted");
    case Verb::put_back:
        return "Back in place";
    case Verb::raise:
        return "Raised";
    case Verb::start:
        return of("Started by hand", "started");
    case Verb::seat:
        return of("Seated", "seated");
    case Verb::tighten:
        return of("Tight", "tight");
    case Verb::fill:
        return "Filled";
    case Verb::unprop:
        return "Prop is away";
    case Verb::mate:
        return "Faces meet";
    }
    return "Done";
}

std::string few_items(const Map& map, const std::vector<ItemId>& items, std::size_t most) {
    struct Named {
        std::string title;
        ItemId first;
        int count = 0;
    };
    std::vector<Named> all;
    for (const ItemId item : items) {
        const auto found =
            std::find_if(all.begin(), all.end(), [&](const Named& one) { return one.title == map[item].title; });
        if (found != all.end())
            ++found->count;
        else
            all.push_back({map[item].title, item, 1});
    }
    std::vector<std::string> words;
    words.reserve(all.size());
    for (const Named& one : all)
        words.push_back(one.count == 1 ? caption_of(map, one.first) : fmt::format("{} ({})", one.title, one.count));
    return few_of(words, ", ", most);
}

} // namespace boltwalk
