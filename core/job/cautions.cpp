// The cautions of the trade that every job shows.
#include <algorithm>
#include <string_view>

#include "core/job/job.hpp"
#include "core/map/values.hpp"

namespace boltwalk {

namespace {

struct Standing {
    const char* text;
    /// A map's caution that has all of these says the same in its own words; parts of words, in small letters. None:
    /// always shown, for what a map says of it may be about one moment only.
    std::vector<std::string_view> words;
};

const std::vector<Standing>& all_standing() {
    static const std::vector<Standing> all{
        {"The maker's manual comes first, then local codes; brakes, steering, fuel and airbags are for those who are "
         "licensed for them.",
         {}},
        {"Never under a vehicle that only a jack holds: axle stands at the maker's points, wheels chocked.",
         {"never", "under", "jack", "stand", "chock"}},
        {"Look at stands and chocks again whenever a heavy unit has come out: the balance has changed.",
         {"stand", "chock", "again", "heavy"}},
        {"Eyes covered.", {}},
        {"Nothing and nobody in the drop path; no hand in the gap.", {"drop path", "hand", "gap"}},
        {"What Boltwalk works out from shapes is an estimate; what is not stated is not known.", {}},
    };
    return all;
}

bool says(const std::string& caution, const Standing& one) {
    return !one.words.empty() && std::all_of(one.words.begin(), one.words.end(), [&](std::string_view word) {
        return caution.find(word) != std::string::npos;
    });
}

} // namespace

std::vector<std::string> standing_cautions() {
    std::vector<std::string> texts;
    for (const Standing& one : all_standing())
        texts.emplace_back(one.text);
    return texts;
}

std::vector<std::string> standing_cautions(const Map& map) {
    std::vector<std::string> stated;
    for (const std::string& caution : map.cautions)
        stated.push_back(lower_case(caution));
    std::vector<std::string> texts;
    for (const Standing& one : all_standing())
        if (std::none_of(stated.begin(), stated.end(), [&](const std::string& caution) { return says(caution, one); }))
            texts.emplace_back(one.text);
    return texts;
}

} // namespace boltwalk
