// What the room remembers between frames and the marking need not know.
#pragma once

#include <algorithm>
#include <array>
#include <optional>
#include <string>

#include "viewer/panels/frames.hpp"
#include "viewer/panels/marking.hpp"

namespace boltwalk {

enum class MarkTab { nodes, proposals, findings, says };

struct MarkRoom {
    int uploaded = 0; ///< Marking::stages of what the canvas holds
    Camera camera;
    std::optional<glm::dvec2>
        fitted_to; ///< size of the drawing that the whole model was fitted to; none: it was turned
    Frame frame;
    MarkTab tab = MarkTab::proposals;
    Scroll lists[3], form;
    Desk::Rows rows[3];
    std::string search;
    bool several = false, box = false;
    std::array<std::string, key_count> texts; ///< being typed
    std::string texts_of;                     ///< which nodes and deeds they were filled for
    std::vector<std::int32_t> offering_nodes; ///< what was picked when the offers were opened
    KeyId typing = KeyId::id;                 ///< the key whose field has the keyboard
    std::vector<std::int32_t> typing_nodes;   ///< what was picked when that began
    KeyId explained = KeyId::id;              ///< the last key whose field had the keyboard: what it means is said
    std::vector<std::int32_t> explained_of;   ///< what was picked then
    bool all_keys = false;
    bool why = false;                    ///< the reasons of the question are shown
    std::string photo_path, group_title; ///< being typed
};

/// What is picked and what is said of it.
void draw_mark_form(Window&, const Box&);
/// How a photograph is added here, and the control for it. True when `path` is to be taken.
const char* how_to_add_photo();
bool photo_field(Window&, std::string& typed, float width, std::string& path);
/// Nodes, proposals or findings.
void draw_mark_list(Window&, MarkTab, const Box&);
/// One key of what is picked, at the cursor.
void draw_mark_key(Window&, KeyId, float width);

/// Buttons that flow on under the cursor.
template <typename Put>
void buttons(Ui& ui, float width, const Put& put) {
    const ImVec2 from = ImGui::GetCursorScreenPos();
    Flow flow = flow_here(width);
    put([&](const std::string& id, const std::string& label, Style style = {}) {
        const float w = std::min(width, width_of(ui, label, style));
        return button(ui, id, label, flow.next(w, ui.sizes.target, ui.sizes.gap), style);
    });
    settle(ui, from, flow);
}

} // namespace boltwalk
