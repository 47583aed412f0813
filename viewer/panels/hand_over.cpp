// The panel that hands the page over: off, with what starts it; or on, with the code for a camera and the address.
#include "viewer/panels/hand_over.hpp"

#include <algorithm>
#include <cmath>

#include "viewer/panels/panels.hpp"

namespace boltwalk {

namespace {

constexpr int QUIET = 4;             ///< modules round the code (ISO/IEC 18004, 6.3.8)
constexpr float WIDEST_MM = 70;      ///< more helps no camera at arm's length; no source
constexpr float SMALLEST_MODULE = 2; ///< pixels

/// Dark on light whatever the window's polarity: not every camera reads the other.
void draw_code(const Ui& ui, const QrCode& code, float width, double px_per_mm) {
    const float all = float(code.width + 2 * QUIET);
    const float room = std::min(width, WIDEST_MM * float(px_per_mm));
    const float module = std::max(SMALLEST_MODULE, std::floor(room / all));
    const ImVec2 at = ImGui::GetCursorScreenPos();
    const float x0 = std::round(at.x), y0 = std::round(at.y);
    ImDrawList* list = ImGui::GetWindowDrawList();
    list->AddRectFilled({x0, y0}, {x0 + module * all, y0 + module * all}, IM_COL32_WHITE);
    for (int y = 0; y < code.width; ++y)
        for (int x = 0; x < code.width; ++x) {
            if (!code.at(x, y))
                continue;
            int end = x; // a row's dark ones in one piece: no seams between them
            while (code.at(end, y))
                ++end;
            const float top = y0 + module * float(y + QUIET);
            list->AddRectFilled({x0 + module * float(x + QUIET), top}, {x0 + module * float(end + QUIET), top + module},
                                IM_COL32_BLACK);
            x = end;
        }
    take_room(module * all, module * all);
    space(ui.sizes.pad);
}

/// An address that has to be broken is broken where the eye finds its place again: host, halves of the code.
std::string to_type(const std::string& address, float width) {
    if (ImGui::CalcTextSize(address.c_str()).x <= width)
        return address;
    const std::size_t host = address.find('/', address.find("//") + 2) + 1, half = (address.size() - 1 - host) / 2;
    return address.substr(0, host) + "\n" + address.substr(host, half) + "\n" + address.substr(host + half);
}

} // namespace

void draw_hand_over(Ui& ui, View& view, Desk& desk, const Box& box) {
    Scroll& scroll = desk.panel[std::size_t(Panel::hand_over)];
    const float width = begin_scroll(ui, "hand_over", box, scroll);
    const auto line = [&](const std::string& text, ImFont* font) {
        paragraph(text, packed(ui.theme.text), font, width);
        space(ui.sizes.pad * 0.6F);
    };
    HandOver& over = *view.hand_over;
    const std::vector<std::string>& addresses = over.addresses();
    const ImVec2 from = ImGui::GetCursorScreenPos();
    Flow flow = flow_here(width);
    const auto press = [&](const char* id, const char* label) {
        return button(ui, id, label, flow.next(std::min(width, width_of(ui, label)), ui.sizes.target, ui.sizes.gap));
    };
    const std::string& path = view.session->map.path;
    if (!addresses.empty()) {
        if (press("hand_over.stop", "Stop handing over"))
            over.stop();
    } else {
        if (press("hand_over.network", "To my network"))
            desk.hand_over_error = over.start(path, true);
        if (press("hand_over.here", "This machine only"))
            desk.hand_over_error = over.start(path, false);
    }
    settle(ui, from, flow);
    if (addresses.empty()) {
        if (!desk.hand_over_error.empty())
            framed(ui, printable(desk.hand_over_error), Mark::fault, packed(ui.theme.fault), width);
        line("Hands the page with this map to the browser of a tablet in the same network: no cable, no account.",
             ui.fonts.text);
        line("Whoever in the network has the address can read the map; nobody can change it.", ui.fonts.text);
    } else {
        desk.hand_over_error.clear();
        line(over.in_network() ? "Point the tablet's camera at this, or type the address:"
                               : "For a browser on this machine:",
             ui.fonts.strong);
        draw_code(ui, over.code(), width, desk.screen.px_per_mm);
        // By loopback the others are the same machine under another name.
        for (std::size_t i = 0; i < (over.in_network() ? addresses.size() : 1); ++i)
            line(to_type(addresses[i], width), i == 0 ? ui.fonts.strong : ui.fonts.text);
        line("The address is another one each time. It ends with Stop, with this window, and when another map is "
             "opened.",
             ui.fonts.text);
    }
    line("What is entered there is kept by that browser; the log here does not hear of it.", ui.fonts.text);
    end_scroll(ui, "hand_over", scroll);
}

} // namespace boltwalk
