#include "core/standards/standards.hpp"

#include <doctest/doctest.h>
#include <initializer_list>

using namespace boltwalk;

namespace {

void check_thread(std::string_view text, std::string_view name, ThreadSeries series) {
    CAPTURE(text);
    const auto thread = read_thread(text);
    REQUIRE_MESSAGE(thread.has_value(), thread.error().what);
    CHECK(thread->name == name);
    CHECK(thread->series == series);
    CHECK(thread->diameter_mm > 0);
    CHECK(thread->pitch_mm > 0);
}

void check_refused(std::string_view text, std::string_view what, std::string_view remedy) {
    CAPTURE(text);
    const auto thread = read_thread(text);
    REQUIRE_FALSE(thread.has_value());
    CHECK_MESSAGE(thread.error().what.find(what) != std::string::npos, thread.error().what);
    CHECK_MESSAGE(thread.error().remedy.find(remedy) != std::string::npos, thread.error().remedy);
}

} // namespace

TEST_CASE("metric, coarse, in every spelling") {
    for (const char* text : {"M10", "m10", "M 10", "M10x1.5", "M10 x 1.5", "M 10 X 1,5", "M10×1.5", "M10-1.5",
                             "M10x1.50", "M10-6g", "M10x1.5-6H", "M10 - 6H/6g", "M10-5g6g"}) {
        check_thread(text, "M10", ThreadSeries::iso_coarse);
    }
    CHECK(read_thread("M10")->pitch_mm == 1.5);
}

TEST_CASE("metric, fine") {
    for (const char* text : {"M10x1.25", "M10-1.25", "M10 × 1,25", "M10x1.25-6g", "M10*1.25"}) {
        check_thread(text, "M10x1.25", ThreadSeries::iso_fine);
    }
    check_thread("M2.5x0.35", "M2.5x0.35", ThreadSeries::iso_fine);
    check_thread("M26x1.5", "M26x1.5", ThreadSeries::iso_fine);
}

TEST_CASE("a metric size that no table lists is a thread all the same") {
    check_thread("M10x1.1", "M10x1.1", ThreadSeries::unlisted);
    check_thread("M13x1.5", "M13x1.5", ThreadSeries::unlisted);
    CHECK(read_thread("M13x1.5")->form == ThreadForm::metric);
}

TEST_CASE("a missing pitch is not invented") {
    check_refused("M13", "no coarse pitch", "M13x");
    check_refused("M26", "no coarse pitch", "M26x");
}

TEST_CASE("a length in the thread is told apart from a pitch") {
    check_refused("M10x30", "rather a length", "length_mm");
    check_refused("M8-30", "rather a length", "length_mm");
    check_refused("M10x1.25x40", "a length", "length_mm");
    check_refused("M10x1.25-40", "not clear", "length_mm");
}

TEST_CASE("the hand belongs into its own key") {
    check_refused("M10x1 LH", "hand", "\"hand\"");
    check_refused("M10-LH", "hand", "\"left\"");
    check_refused("3/8-16 LH", "hand", "\"left\"");
}

TEST_CASE("unified, in every spelling") {
    for (const char* text :
         {"3/8-16", "3/8-16 UNC", "3/8-16UNC", "3/8 - 16 unc", "3/8 UNC", "3/8 16", "⅜-16", "3/8\"-16", "3/8 in-16",
          "0.375-16", ".375-16 UNC", "3/8-16 UNC-2A", "3/8-16 UNC 2B", "3/8-16 UNRC", "UNC 3/8-16", "3/8x16"}) {
        check_thread(text, "3/8-16 UNC", ThreadSeries::unified);
    }
    check_thread("1/4-28UNF", "1/4-28 UNF", ThreadSeries::unified);
    check_thread("1/4-32", "1/4-32 UNEF", ThreadSeries::unified);
    check_thread("1-1/8-7", "1-1/8-7 UNC", ThreadSeries::unified);
    check_thread("1 1/8-12", "1-1/8-12 UNF", ThreadSeries::unified);
    check_thread("1-1/8-8 UN", "1-1/8-8 UN", ThreadSeries::unified);
    check_thread("2-4.5", "2-4.5 UNC", ThreadSeries::unified);
}

TEST_CASE("number sizes and inches are told apart by the threads per inch") {
    check_thread("#10-32", "#10-32 UNF", ThreadSeries::unified);
    check_thread("10-32", "#10-32 UNF", ThreadSeries::unified);
    check_thread("10 UNF", "#10-32 UNF", ThreadSeries::unified);
    check_thread("4-40", "#4-40 UNC", ThreadSeries::unified);
    check_thread("4-4", "4-4 UNC", ThreadSeries::unified);
    check_thread("1-8", "1-8 UNC", ThreadSeries::unified);
    check_thread("1-64", "#1-64 UNC", ThreadSeries::unified);
    check_refused("10-31", "number size or inches", "#");
    check_refused("4 UNC", "number size or inches", "#");
}

TEST_CASE("a unified size that no table lists is a thread all the same") {
    check_thread("1-14", "1 in-14", ThreadSeries::unlisted);
    check_thread("1 in-14 UNS", "1 in-14", ThreadSeries::unlisted);
    check_thread("3/8-17", "3/8-17", ThreadSeries::unlisted);
    check_thread("6 in-6", "6 in-6", ThreadSeries::unlisted);
    check_thread("#10-31", "#10-31", ThreadSeries::unlisted);
    CHECK(read_thread("3/8-17")->form == ThreadForm::unified);
}

TEST_CASE("a series that contradicts the pitch") {
    check_refused("3/8-16 UNF", "contradicts", "3/8-24 UNF");
    check_refused("1/4-20 NPT", "contradicts", "NPT 1/4");
    check_refused("11/16 UNC", "does not have", "threads per inch");
    check_refused("3/8", "threads an inch", "G 3/8");
}

TEST_CASE("pipe threads") {
    for (const char* text : {"G 3/8", "G3/8", "g 3/8", "G 3/8 A", "G3/8B", "G 3/8-19"}) {
        check_thread(text, "G 3/8", ThreadSeries::pipe);
    }
    check_thread("R 1/2", "R 1/2", ThreadSeries::pipe);
    check_thread("Rc 1/4", "Rc 1/4", ThreadSeries::pipe);
    check_thread("G 1-1/4", "G 1-1/4", ThreadSeries::pipe);
    for (const char* text : {"NPT 1/4", "1/4 NPT", "1/4-18 NPT", "NPT1/4", "1/4\" NPT"}) {
        check_thread(text, "NPT 1/4", ThreadSeries::pipe);
    }
    check_refused("G 5/16", "no size", "bore");
    check_refused("Rp 5/8", "no size", "bore");
    check_refused("1/2 BSP", "older way", "ISO 7-1");
    CHECK(stress_area_mm2(*read_thread("G 3/8")) == 0);
    CHECK(pitch_diameter_mm(*read_thread("G 3/8")) == 0);
}

TEST_CASE("what is no thread") {
    for (const char* text :
         {"",       " ",           "M",       "Mx",         "M0",     "M-10",    "hello", "10",      "M1e3",
          "M99999", "Minf",        "x",       "#",          "#13-20", "1/0-20",  "0-0",   "-3/8-16", "M10x",
          "M10x0",  "M10x1,250,5", "M10 foo", "3/8-16 foo", "hex 14", "Tr 20x4", "ST4.8", "W 3/8",   "mm 10"}) {
        CAPTURE(text);
        const auto thread = read_thread(text);
        REQUIRE_FALSE(thread.has_value());
        CHECK_FALSE(thread.error().what.empty());
        CHECK_FALSE(thread.error().remedy.empty());
    }
}

TEST_CASE("our spelling is read back the same") {
    for (const char* text : {"M10", "M10x1.25", "M1.6", "M13x1.5", "3/8-16", "1-1/8-8 UN", "#10-32", "1-14", "3/8-17",
                             "G 3/8", "R 1/2", "NPT 1/4", "#10-31", "2-1/4-4.5"}) {
        CAPTURE(text);
        const auto thread = read_thread(text);
        REQUIRE(thread.has_value());
        const auto again = read_thread(thread->name);
        REQUIRE(again.has_value());
        CHECK(again->name == thread->name);
        CHECK(again->pitch_mm == thread->pitch_mm);
        CHECK(again->diameter_mm == thread->diameter_mm);
        CHECK(again->series == thread->series);
    }
}
