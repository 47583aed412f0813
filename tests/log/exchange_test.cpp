// JSON and CSV: what goes out comes back the same, and a spreadsheet runs nothing of it.
#include <doctest/doctest.h>
#include <nlohmann/json.hpp>

#include "core/log/row.hpp"
#include "tests/log/small.hpp"
#include "tests/shared/folder.hpp"
#include "tests/shared/random_assembly.hpp"

using namespace boltwalk;
using namespace boltwalk::testing;

namespace {

/// Texts that break careless writers.
const std::vector<std::string> awkward{
    "",
    "plain",
    "=1+1",
    "+1",
    "-1",
    "@SUM(A1)",
    "\tx", //
    "\rx",
    "'quoted",
    "''",
    "\uFF1D1+1",
    "a,b",
    "a \"b\" c",
    "\"", //
    "two\nlines",
    "two\r\nlines",
    "=\"a\",b\n",
    " leading",
    "trailing ",
    "\u00DC \u00D7 \u6F22 \U0001F642",
    "\u202Eturned\u0001\x7f",
};

Build with_ids() {
    Build b = lid_and_body();
    for (std::size_t i = 0; i < b.map.items.size(); i += 2)
        b.map.items[i].id = "id-" + std::to_string(i);
    return b;
}

Entry every_field(const Build& b, Lots& dice) {
    const auto text = [&] { return awkward[static_cast<std::size_t>(dice.below(static_cast<int>(awkward.size())))]; };
    Entry e;
    e.deed = static_cast<Deed>(dice.below(static_cast<int>(Deed::unknown)));
    e.at_ms = 1'770'000'000'123 + dice.below(1'000'000'000);
    e.item = {dice.below(static_cast<int>(b.map.items.size()) + 1) - 1};
    e.named = e.item ? b.map[e.item].name : text();
    e.step = text();
    e.verb = static_cast<Verb>(dice.below(static_cast<int>(Verb::mate) + 1));
    e.vehicle = {.stands = Ask::yes, .brake = static_cast<Ask>(dice.below(3))};
    e.mishap = static_cast<Mishap>(dice.below(static_cast<int>(Mishap::back_for_night) + 1));
    if (dice.chance(30)) {
        e.piece = PieceFrom::of_site;
        e.piece_of = b.at("bolt_3");
        e.piece_named = "bolt_3";
    } else if (dice.chance(30)) {
        e.piece = PieceFrom::fresh;
    }
    e.whereabouts = static_cast<Whereabouts>(dice.below(5));
    if (dice.chance(30))
        e.as = PieceKind{FastenerKind::castle_nut, "3/8-16 UNC", "hex_flange", "10", 31.75};
    e.torque = text();
    e.pass = dice.below(3);
    e.passes = dice.below(3);
    e.duty = static_cast<Duty>(dice.below(9));
    e.about = text();
    e.words = text();
    return e;
}

void check_same(const std::vector<Entry>& a, const std::vector<Entry>& b) {
    REQUIRE(a.size() == b.size());
    for (std::size_t i = 0; i < a.size(); ++i) {
        CAPTURE(i);
        CHECK(log_row::to_row(a[i]) == log_row::to_row(b[i]));
        CHECK(a[i].item == b[i].item);
        CHECK(a[i].piece_of == b[i].piece_of);
    }
}

} // namespace

TEST_CASE("every field with every awkward text: out as JSON and as CSV, back the same") {
    const Folder folder;
    const Build b = with_ids();
    Log log(b.map, log_path_of(folder.path / "lid.glb"));
    Lots dice(5);
    std::vector<Entry> entries;
    for (int i = 0; i < 400; ++i)
        entries.push_back(every_field(b, dice));
    REQUIRE(log.add(entries));
    const std::string json = export_json(log.snapshot(), log.entries());
    const std::string csv = export_csv(log.snapshot(), log.entries());
    for (const std::string& text : {json, csv}) {
        const auto import = import_log(b.map, text);
        REQUIRE_MESSAGE(import, (import ? "" : import.error().what));
        check_same(import->entries, log.entries());
        CHECK(import->differs.empty());
        // Into an empty log; and again, which adds nothing.
        const Folder other;
        Log copy(b.map, log_path_of(other.path / "lid.glb"));
        REQUIRE(copy.add(import->entries));
        check_same(copy.entries(), log.entries());
        REQUIRE(copy.add(import->entries));
        CHECK(copy.entries().size() == log.entries().size());
    }
    for (const char c : json)
        REQUIRE(((c >= 32 && c < 127) || c == '\n'));
}

TEST_CASE("CSV by RFC 4180: CRLF, doubled quotes, one width; no cell begins with what a spreadsheet runs") {
    const Folder folder;
    const Build b = with_ids();
    Log log(b.map, log_path_of(folder.path / "lid.glb"));
    std::vector<Entry> entries;
    for (const std::string& text : awkward) {
        entries.push_back(did(b, Verb::take_out, "bolt_1"));
        entries.back().words = text;
    }
    REQUIRE(log.add(entries));
    const std::string csv = export_csv(log.snapshot(), log.entries());
    // Read here by a parser of its own, by the grammar of RFC 4180, section 2.
    std::vector<std::vector<std::string>> rows(1, {""});
    bool quoted = false;
    for (std::size_t i = 0; i < csv.size(); ++i) {
        std::string& cell = rows.back().back();
        if (quoted) {
            if (csv[i] != '"')
                cell += csv[i];
            else if (i + 1 < csv.size() && csv[i + 1] == '"')
                cell += csv[++i];
            else
                quoted = false;
        } else if (csv[i] == '"') {
            REQUIRE(cell.empty());
            quoted = true;
        } else if (csv[i] == ',') {
            rows.back().emplace_back();
        } else if (csv[i] == '\r') {
            REQUIRE(csv.at(++i) == '\n');
            rows.push_back({""});
        } else {
            REQUIRE(csv[i] != '\n');
            cell += csv[i];
        }
    }
    rows.pop_back(); // behind the last CRLF
    REQUIRE(rows.size() == awkward.size() + 1);
    for (std::size_t r = 0; r < rows.size(); ++r) {
        CHECK(rows[r].size() == rows[0].size());
        for (const std::string& cell : rows[r])
            CHECK(std::string("=+-@\t\r").find(cell.empty() ? 'x' : cell[0]) == std::string::npos);
        if (r > 0) {
            const auto words = std::find(rows[0].begin(), rows[0].end(), "words") - rows[0].begin();
            const std::string& cell = rows[r][static_cast<std::size_t>(words)];
            const std::string& text = awkward[r - 1];
            CHECK((cell == text || cell == "'" + text));
        }
    }
}

TEST_CASE("imports that are no logs are told what is wrong, and nothing crashes") {
    const Build b = with_ids();
    for (const char* text : {"", "{", "{}", "[]", "{\"boltwalk_log\":2}", "{\"boltwalk_log\":1}",
                             "{\"boltwalk_log\":1,\"items\":[],\"entries\":[{}]}",
                             "{\"boltwalk_log\":1,\"items\":[1,null],\"entries\":[7]}", "key,at\r\n1,2\r\n", "\"",
                             "a\"b", "\xff\xfe", "key"}) {
        CAPTURE(text);
        const auto import = import_log(b.map, text);
        REQUIRE_FALSE(import);
        CHECK(import.error().what != "");
        CHECK(import.error().remedy != "");
    }
    CHECK_FALSE(import_log(b.map, "{\"boltwalk_log\":1,\"items\":" + std::string(200000, '[')));
    // A reference beyond the list of items is none.
    const auto beyond = import_log(
        b.map, "{\"boltwalk_log\":1,\"items\":[],\"entries\":[{\"key\":\"a\",\"deed\":\"did\",\"verb\":\"take-out\","
               "\"item\":\"bolt_1\",\"item_no\":9999999999}]}");
    REQUIRE(beyond);
    CHECK_FALSE(beyond->entries[0].item);
    // Cut off anywhere, and with any byte changed.
    const Folder folder;
    Log log(b.map, log_path_of(folder.path / "lid.glb"));
    log.add({did(b, Verb::take_out, "bolt_1"), found(b, Mishap::lost, "bolt_2", "it, \"fell\"")});
    Lots dice(3);
    for (const std::string& whole :
         {export_json(log.snapshot(), log.entries()), export_csv(log.snapshot(), log.entries())})
        for (int i = 0; i < 300; ++i) {
            std::string text = whole;
            if (dice.chance(50))
                text.resize(static_cast<std::size_t>(dice.below(static_cast<int>(text.size()))));
            else
                text[static_cast<std::size_t>(dice.below(static_cast<int>(text.size())))] =
                    static_cast<char>(dice.below(256));
            const auto import = import_log(b.map, text);
            if (import)
                fold(prepare(b.map), import->entries);
        }
}

TEST_CASE("times: RFC 3339 in UTC, both ways; against known days") {
    // 2000-02-29 is day 11016 and 2038-01-19T03:14:08Z second 2^31 since 1970-01-01 (POSIX, "seconds since the epoch").
    CHECK(print_time(std::int64_t{11016} * 86400000) == "2000-02-29T00:00:00.000Z");
    CHECK(print_time(std::int64_t{2147483648} * 1000 + 7) == "2038-01-19T03:14:08.007Z");
    CHECK(read_time("2038-01-19T03:14:08.007Z") == std::int64_t{2147483648007});
    CHECK(read_time("2038-01-19T03:14:08Z") == std::int64_t{2147483648000});
    for (const char* bad : {"", "2038-01-19", "2038-02-30T00:00:00Z", "2038-01-19T24:00:00Z", "2038-01-19 03:14:08Z",
                            "2038-01-19T03:14:08+01", "xxxx-01-19T03:14:08Z"})
        CHECK_FALSE(read_time(bad));
}

TEST_CASE("kinds of hardware in words, both ways") {
    for (const PieceKind& kind :
         {PieceKind{FastenerKind::bolt, "M10x1.25", "hex_flange", "10.9", 35},
          PieceKind{FastenerKind::nut, "M8", "", "", 0}, PieceKind{FastenerKind::split_pin, "", "", "", 0},
          PieceKind{FastenerKind::pin, "", "", "", 26}, PieceKind{FastenerKind::plug, "G 3/8", "cap", "", 14.5},
          PieceKind{FastenerKind::bolt, "3/8-16 UNC", "hex", "5", 25.4}}) {
        CHECK(print_kind(kind).find('_') == std::string::npos);
        for (const std::string& words : {print_kind(kind), word_of(kind)}) {
            const auto back = read_kind(words, FastenerKind::screw);
            REQUIRE(back);
            CHECK(*back == kind);
        }
    }
    const PieceKind plug{FastenerKind::drain_plug, "M22x1.5", "hex_flange", "", 14};
    CHECK(print_kind(plug) == "drain plug M22x1.5 × 14, hex flange");
    CHECK(word_of(plug) == "drain_plug M22x1.5 × 14, hex_flange"); // as it stands on disk, in every log so far
    CHECK(read_kind("M8 x 30, 8.8, hex", FastenerKind::bolt) == PieceKind{FastenerKind::bolt, "M8", "hex", "8.8", 30});
    CHECK_FALSE(read_kind("thick", FastenerKind::bolt));
}
