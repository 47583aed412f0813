// The page's voice: the browser's own.
#include <emscripten.h>

#include <string>

#include "viewer/panels/aloud.hpp"

// clang-format off
EM_JS(int, page_has_voice, (), { return Module.page.hasVoice() ? 1 : 0; });
EM_JS(void, page_say, (const char* text), { Module.page.say(UTF8ToString(text)); });
// clang-format on

namespace boltwalk {

std::string no_voice() {
    return page_has_voice() != 0 ? "" : "This browser has no voice.";
}

void say(const std::string& text) {
    page_say(text.c_str());
}

} // namespace boltwalk
