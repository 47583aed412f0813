#include "core/map/scan.hpp"

#include <string>

#include <doctest/doctest.h>

#include "core/map/base64.hpp"
#include "core/map/map.hpp"

using namespace boltwalk;

namespace {

std::string error_of(std::string_view text) {
    const auto json = scan_json(text);
    return json ? std::string() : json.error().what;
}

} // namespace

TEST_CASE("JSON: what is well formed") {
    for (const char* text : {"{}", "[]", " [1, -2.5e-3, 0, 0.5E+2] ", "{\"a\":{\"b\":[null,true,false]}}", "\"\"", "0",
                             "\"\\u00e9\\n\\\\\\/\"", "\"\\ud83d\\ude00\"", "\"\xc3\xa9 \xf0\x9f\x98\x80\""}) {
        CAPTURE(text);
        CHECK(error_of(text) == "");
    }
}

TEST_CASE("JSON: what is not") {
    for (const char* text :
         {"",     " ",       "{",           "[1,]",   "[1 2]", "{\"a\"}", "{\"a\":}", "{a:1}", "{\"a\":1,}",
          "[1]]", "01",      "1.",          ".5",     "-",     "+1",      "1e",       "tru",   "nul",
          "\"",   "\"\\x\"", "\"\\u12g4\"", "\"\n\"", "'a'",   "[1] x",   "\"\\",     "\"\\u", "{\"a\":1 \"b\":2}"}) {
        CAPTURE(text);
        CHECK(error_of(text) != "");
    }
}

TEST_CASE("JSON: NaN and infinite numbers by any spelling") {
    for (const char* text : {"NaN", "[Infinity]", "[-Infinity]", "1e999", "-1e309", "[1E+400]",
                             "179769313486231580e300", "1.8e308", "0.00001e400"}) {
        CAPTURE(text);
        CHECK(error_of(text) != "");
    }
    CHECK(error_of(std::string(310, '9')) != "");
    // The largest double, and texts that only look large.
    for (const char* text : {"1.7976931348623157e308", "0e999", "0.000e4000", "1e-999", "0.00001e310", "1e308"}) {
        CAPTURE(text);
        CHECK(error_of(text) == "");
    }
}

TEST_CASE("JSON: invalid UTF-8 in a string") {
    // RFC 3629: a lone continuation byte, an overlong slash, a surrogate, beyond U+10FFFF, a character cut off.
    for (const char* text :
         {"\"\x80\"", "\"\xc0\xaf\"", "\"\xed\xa0\x80\"", "\"\xf4\x90\x80\x80\"", "\"\xe2\x82\"", "\"\xff\"", "\"\xc3",
          "\"\\ud800\"", "\"\\ud800x\"", "\"\\udc00\"", "\"\\ud800\\u0041\""}) {
        CAPTURE(text);
        CHECK(error_of(text) != "");
    }
}

TEST_CASE("JSON: nested to the limit, and beyond it") {
    const auto nested = [](int depth) {
        return std::string(static_cast<std::size_t>(depth), '[') + std::string(static_cast<std::size_t>(depth), ']');
    };
    CHECK(error_of(nested(json_depth_limit + 1)) == "");
    CHECK(error_of(nested(json_depth_limit + 2)).find("nested") != std::string::npos);
    CHECK(error_of(std::string(4000000, '[')).find("nested") != std::string::npos);
    CHECK(error_of([] {
              std::string text;
              for (int i = 0; i < 100000; ++i) {
                  text += "{\"a\":";
              }
              return text;
          }())
              .find("nested") != std::string::npos);
}

TEST_CASE("JSON: members are found, escapes resolved, ranges exact") {
    const std::string text = R"({"a":1, "b\u0063" : "x\ty\ud83d\ude00" , "d":[1,{"a":2}],"a":3})";
    const auto json = scan_json(text);
    REQUIRE(json.has_value());
    CHECK(number_of(*json, find_member(*json, 0, "a")) == 3); // of two, the last
    const TokenId bc = find_member(*json, 0, "bc");
    REQUIRE(bc != no_token);
    CHECK(text_of(*json, bc) == "x\ty\xf0\x9f\x98\x80");
    CHECK(json->raw(bc) == R"("x\ty\ud83d\ude00")");
    CHECK(elements_of(*json, find_member(*json, 0, "d")).size() == 2);
    CHECK(find_member(*json, 0, "e") == no_token);
    CHECK(find_member(*json, bc, "a") == no_token);
    CHECK(json->raw(0) == text);
}

TEST_CASE("JSON: numbers come back exactly") {
    for (const auto& number : {std::pair{"0.1", 0.1},
                               {"-0.30000000000000004", -0.30000000000000004},
                               {"9007199254740993", 9007199254740992.0},
                               {"5e-324", 5e-324},
                               {"1e-999", 0.0},
                               {"123456789012345678901234567890", 123456789012345678901234567890.0}}) {
        const auto json = scan_json(number.first);
        REQUIRE_MESSAGE(json.has_value(), number.first);
        CHECK_MESSAGE(number_of(*json, 0) == number.second, number.first);
    }
}

TEST_CASE("JSON: a place in the text") {
    CHECK(place_in("ab\ncd", 4) == "line 2, column 2");
    CHECK(json_quoted("a\"b\\\n\x01") == R"("a\"b\\\u000a\u0001")");
}

TEST_CASE("base64 as RFC 4648, section 10, has it, there and back") {
    struct Vector {
        std::string plain, coded;
    };
    for (const Vector& one : {Vector{"", ""},
                              {"f", "Zg=="},
                              {"fo", "Zm8="},
                              {"foo", "Zm9v"},
                              {"foob", "Zm9vYg=="},
                              {"fooba", "Zm9vYmE="},
                              {"foobar", "Zm9vYmFy"}}) {
        CAPTURE(one.plain);
        CHECK(base64_of(one.plain) == one.coded);
        std::string back(base64_bytes(one.coded), '\0');
        CHECK(from_base64(one.coded, reinterpret_cast<std::byte*>(back.data())).empty());
        CHECK(back == one.plain);
    }
}
