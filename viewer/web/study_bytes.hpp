// What takes longer than a frame is worked out by a second instance of the program in a worker, which shares no memory
// with the page. Both read the same bytes by the same program, so indices mean the same; what goes over is a byte
// string a piece, and it never leaves the browser.
#pragma once

#include <string>
#include <string_view>

#include "viewer/panels/study.hpp"

namespace boltwalk {

std::string text_of(const Room&);

struct StudyBytes {
    static std::string out_of_sight(const Study&);
    static std::string overlays(const Study&, bool back);
    static std::string in_the_way(const Study&);
    static std::string views(const Session&, bool back);
    static std::string end();
    /// Puts a piece where it belongs. False when it is none.
    static bool take(std::string_view, Session&, Study&);
};

/// In the worker: opens the map, and hands each piece over as it is found. Returns when all are.
void work_out_beside(const char* path, const char* room);

} // namespace boltwalk
