// What the room remembers between frames and the marking need not know.
#pragma once

#include <array>
#include <string>

#include "viewer/panels/frames.hpp"
#include "viewer/panels/marking.hpp"

namespace boltwalk {

enum class MarkTab { nodes, proposals, findings, says };

struct MarkRoom {
    int uploaded = 0; ///< Marking::stages of what the canvas holds
    Camera camera;
    Frame frame;
    MarkTab tab = MarkTab::proposals;
    Scroll lists[3], form;
    Desk::Rows rows[3];
    std::string search;
    bool several = false, box = false;
    std::array<std::string, key_count> texts; ///< being typed
    std::string texts_of;                     ///< which nodes and deeds they were filled for
    KeyId offering = KeyId::id;               ///< the key whose offers are open; id: none
    KeyId typing = KeyId::id;                 ///< the key whose field has the keyboard
    std::vector<std::int32_t> typing_nodes;   ///< what was picked when that began
    bool all_keys = false;
    std::string photo_path, group_title; ///< being typed
};

/// What is picked and what is said of it.
void draw_mark_form(Window&, const Box&);
/// How a photograph is added here, and the control for it. True when `path` is to be taken.
const char* how_to_add_photo();
bool photo_field(Window&, std::string& typed, float width, std::string& path);
/// Nodes, proposals or findings.
void draw_mark_list(Window&, MarkTab, const Box&);

} // namespace boltwalk
