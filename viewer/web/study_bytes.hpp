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
    // On the page. A piece is put where it belongs; false when it is not for that.
    static bool take(std::string_view, Opening&);
    static bool take(std::string_view, Session&, Study&);
    static bool is_end(std::string_view); ///< no more will come

    // In the worker.
    static void hand_over_new(const Study&, int& handed); ///< parts since `handed`, and how far it is
    static void work_from(Study&, int part);
};

/// In the worker: opens the map, and hands each piece over as it is found, of the study those from `from` on. Returns
/// when all are.
void work_out_beside(const char* path, const char* room, int from);

} // namespace boltwalk
