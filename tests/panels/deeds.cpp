// What the main action says is done, by how many of how many.
#include <doctest/doctest.h>

#include <string>

#include "viewer/panels/walk.hpp"

using namespace boltwalk;

namespace {

std::string said(Verb verb, int count, int all) {
    Step step;
    step.verb = verb;
    return done_words(step, count, all).words;
}

constexpr Verb VERBS[] = {Verb::do_task,  Verb::soak,     Verb::mark,     Verb::unload,   Verb::prop, Verb::prove,
                          Verb::drain,    Verb::loosen,   Verb::take_out, Verb::let_down, Verb::fit,  Verb::set_aside,
                          Verb::take_off, Verb::transfer, Verb::put_back, Verb::raise,    Verb::seat, Verb::start,
                          Verb::tighten,  Verb::fill,     Verb::unprop,   Verb::mate};

} // namespace

TEST_CASE("a press that enters several says how many, whatever is done to them") {
    for (const Verb verb : VERBS) {
        CAPTURE(said(verb, 1, 1));
        CHECK(said(verb, 3, 3).starts_with("All 3 "));
        CHECK(said(verb, 2, 3).starts_with("The other 2 "));
        CHECK(said(verb, 1, 3).starts_with("The other one "));
        CHECK(said(verb, 1, 1).find_first_of("0123456789") == std::string::npos);
        Step step;
        step.verb = verb;
        CHECK(done_words(step, 3, 3).brief == "All 3");
        CHECK(done_words(step, 2, 3).brief == "Other 2");
        CHECK(done_words(step, 1, 3).brief == "Other one");
        CHECK(done_words(step, 1, 1).brief.find(' ') == std::string::npos);
    }
}

TEST_CASE("the words agree with how many it is") {
    CHECK(said(Verb::prove, 1, 1) == "Comes loose");
    CHECK(said(Verb::prove, 1, 4) == "The other one comes loose");
    CHECK(said(Verb::prove, 2, 4) == "The other 2 come loose");
    CHECK(said(Verb::prove, 4, 4) == "All 4 come loose");
    CHECK(said(Verb::unprop, 1, 2) == "The other one off its prop");
    CHECK(said(Verb::unprop, 2, 2) == "All 2 off their props");
    CHECK(said(Verb::mark, 1, 1) == "Marked");
    CHECK(said(Verb::mark, 2, 2) == "All 2 marked");
    CHECK(said(Verb::put_back, 1, 2) == "The other one back in place");
    CHECK(said(Verb::mate, 2, 2) == "All 2 meet their faces");
}
