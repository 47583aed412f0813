#include "viewer/panels/aloud.hpp"

#include <fmt/format.h>

#include <array>
#include <utility>

namespace boltwalk {

namespace {

void replace_all(std::string& text, std::string_view from, std::string_view to) {
    for (std::size_t at = text.find(from); at != std::string::npos; at = text.find(from, at + to.size()))
        text.replace(at, from.size(), to);
}

std::string in_words(std::string text) {
    // "x1.25" is a thread's pitch; a voice reads the letter.
    static constexpr std::array<std::pair<std::string_view, std::string_view>, 8> SIGNS{{{"N·m", "newton metres"},
                                                                                         {"lbf·ft", "pound-force feet"},
                                                                                         {"°", " degrees"},
                                                                                         {" × ", " by "},
                                                                                         {" · ", ", "},
                                                                                         {" kg", " kilograms"},
                                                                                         {" mm", " millimetres"},
                                                                                         {"_", " "}}};
    for (const auto& [sign, words] : SIGNS)
        replace_all(text, sign, words);
    return text;
}

} // namespace

std::string step_aloud(const View& view) {
    if (!is_walking(view) || !has_job(view))
        return {};
    if (at_end(view))
        return view.back ? "End of the refit." : "End of the strip.";
    const StepCard& card = (view.back ? view.session->refit_cards : view.session->strip_cards)[view.at];
    std::string all = fmt::format("Step {} of {}. {}.", view.at + 1, steps_of(view), card.headline);
    for (const std::string& caution : card.cautions)
        all += fmt::format(" Caution: {}.", caution);
    for (const Hardware& one : card.hardware) {
        all += fmt::format(" {} times {}", one.count, one.size.empty() ? one.kind : one.size);
        for (const std::string& more : {one.tool, one.torque, one.extra})
            if (!more.empty())
                all += ", " + more;
        all += '.';
    }
    if (!card.from.empty())
        all += fmt::format(" Work {}.", card.from);
    return printable(in_words(all));
}

void Reader::follow(const View& view) {
    const std::string now = view.aloud ? step_aloud(view) : std::string();
    if (now == said_)
        return;
    said_ = now;
    say(now);
}

} // namespace boltwalk
