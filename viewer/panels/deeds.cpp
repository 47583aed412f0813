// What was done, in words for buttons.
#include <algorithm>
#include <fmt/format.h>

#include "viewer/panels/facts.hpp"
#include "viewer/panels/walk.hpp"

namespace boltwalk {

Entering done_words(const Step& step, int count, int all) {
    const auto one_word = [](std::string_view word) { return Entering{std::string(word), std::string(word)}; };
    const auto phrase = [](std::string_view words) { return Entering{std::string(words), "Done"}; };
    const auto of = [&](std::string_view one, std::string_view several) {
        if (all == 1)
            return one.find(' ') == std::string_view::npos ? one_word(one) : phrase(one);
        if (count == all)
            return Entering{fmt::format("All {} {}", all, several), fmt::format("All {}", all)};
        return Entering{count == 1 ? fmt::format("The other one {}", several)
                                   : fmt::format("The other {} {}", count, several),
                        count == 1 ? "Other one" : fmt::format("Other {}", count)};
    };
    switch (step.verb) {
    case Verb::set_vehicle:
        return phrase("It is so");
    case Verb::do_task:
        return one_word("Done");
    case Verb::soak:
        return of("Soaking", "soaking");
    case Verb::mark:
        return one_word("Marked");
    case Verb::unload:
        return phrase("Load is off");
    case Verb::prop:
        return one_word("Propped");
    case Verb::prove:
        return of("Comes loose", "come loose");
    case Verb::drain:
        return one_word("Drained");
    case Verb::loosen:
        return of("Slackened", "slackened");
    case Verb::take_out:
        return of("Out", "out");
    case Verb::let_down:
        return one_word("Lowered");
    case Verb::set_aside:
        return one_word("Aside");
    case Verb::take_off:
        return of("Off", "off");
    case Verb::transfer:
        return phrase("Gone over");
    case Verb::fit:
        return of("Fitted", "fitted");
    case Verb::put_back:
        return phrase("Back in place");
    case Verb::raise:
        return one_word("Raised");
    case Verb::start:
        return of("Started by hand", "started");
    case Verb::seat:
        return of("Seated", "seated");
    case Verb::tighten:
        return of("Tight", "tight");
    case Verb::fill:
        return one_word("Filled");
    case Verb::unprop:
        return phrase("Prop is away");
    case Verb::mate:
        return phrase("Faces meet");
    }
    return one_word("Done");
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
