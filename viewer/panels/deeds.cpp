// What was done, in words for buttons.
#include <algorithm>
#include <fmt/format.h>

#include "viewer/panels/facts.hpp"
#include "viewer/panels/walk.hpp"

namespace boltwalk {

Entering done_words(const Step& step, int count, int all) {
    // `one` stands alone, `several` behind "All 3", `single` behind "The other one".
    const auto words_of = [&](std::string_view one, std::string_view several, std::string_view single) {
        if (all == 1) // only a word has room from 3 m
            return Entering{std::string(one), one.find(' ') == std::string_view::npos ? std::string(one) : "Done"};
        if (count == all)
            return Entering{fmt::format("All {} {}", all, several), fmt::format("All {}", all)};
        return Entering{count == 1 ? fmt::format("The other one {}", single)
                                   : fmt::format("The other {} {}", count, several),
                        count == 1 ? "Other one" : fmt::format("Other {}", count)};
    };
    const auto of = [&](std::string_view one, std::string_view several) { return words_of(one, several, several); };
    switch (step.verb) {
    case Verb::set_vehicle:
        return of("It is so", "so");
    case Verb::do_task:
        return of("Done", "done");
    case Verb::soak:
        return of("Soaking", "soaking");
    case Verb::mark:
        return of("Marked", "marked");
    case Verb::unload:
        return of("Load is off", "without load");
    case Verb::prop:
        return of("Propped", "propped");
    case Verb::prove:
        return words_of("Comes loose", "come loose", "comes loose");
    case Verb::drain:
        return of("Drained", "drained");
    case Verb::loosen:
        return of("Slackened", "slackened");
    case Verb::take_out:
        return of("Out", "out");
    case Verb::let_down:
        return of("Lowered", "lowered");
    case Verb::set_aside:
        return of("Aside", "aside");
    case Verb::take_off:
        return of("Off", "off");
    case Verb::transfer:
        return of("Gone over", "gone over");
    case Verb::fit:
        return of("Fitted", "fitted");
    case Verb::put_back:
        return of("Back in place", "back in place");
    case Verb::raise:
        return of("Raised", "raised");
    case Verb::start:
        return of("Started by hand", "started");
    case Verb::seat:
        return of("Seated", "seated");
    case Verb::tighten:
        return of("Tight", "tight");
    case Verb::fill:
        return of("Filled", "filled");
    case Verb::unprop:
        return words_of("Prop is away", "off their props", "off its prop");
    case Verb::mate:
        return words_of("Faces meet", "meet their faces", "meets its face");
    }
    return of("Done", "done");
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
