#include "viewer/panels/letters.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "viewer/draw/draw.hpp"

namespace boltwalk {

namespace {

constexpr int WIDEST_PX = 2048; ///< of an atlas that has to be small; it grows downwards
// What the program itself writes beside Latin: figures of the trade and typographic marks.
constexpr const char* OWN = "…–—‘’“”·×°±≤≥µ€→←↑↓";

void add_texts(ImFontGlyphRangesBuilder& builder, const Session& session) {
    const Map& map = session.map;
    const auto add = [&](const std::string& text) { builder.AddText(text.c_str()); };
    for (const std::string* text : {&map.path, &map.job, &map.vehicle, &map.source})
        add(*text);
    for (const std::string& text : map.cautions)
        add(text);
    for (const Item& item : map.items)
        for (const std::string* text :
             {&item.name, &item.title, &item.note, &item.refit_note, &item.caution, &item.refit_caution, &item.source})
            add(*text);
    for (const Node& node : map.nodes)
        add(node.name);
    for (const Photo& photo : map.photos)
        add(photo.name);
    for (const Group& group : map.groups)
        add(group.title);
    for (const Part& part : map.parts)
        for (const std::string* text : {&part.aside, &part.hang_from, &part.lift_point, &part.loaded, &part.turns,
                                        &part.adjust_note, &part.fluid})
            add(*text);
    for (const Fastener& fastener : map.fasteners) {
        for (const std::string* text :
             {&fastener.joint, &fastener.turn, &fastener.head, &fastener.grade, &fastener.counter, &fastener.pattern,
              &fastener.passes, &fastener.slot, &fastener.lock, &fastener.condition})
            add(*text);
        if (fastener.torque)
            add(fastener.torque->text);
    }
    for (const Tightening& tightening : session.turns) {
        for (const std::string* text : {&tightening.order_words, &tightening.rounds_words, &tightening.source})
            add(*text);
        for (const std::string& text : tightening.words)
            add(text);
    }
    for (const Finding& finding : session.findings)
        for (const std::string* text : {&finding.what, &finding.why, &finding.remedy})
            add(*text);
}

ImFont* add_font(Face face, float size_px, const ImVector<ImWchar>& ranges) {
    const auto bytes = font_bytes(face);
    ImFontConfig config;
    config.FontDataOwnedByAtlas = false;
    config.PixelSnapH = true;
    config.OversampleV = 1;
    config.OversampleH = size_px < 40 ? 2 : 1;
    // Dear ImGui asks for a pointer to change, and does not change it.
    auto* const data = const_cast<unsigned char*>(bytes.data());
    return ImGui::GetIO().Fonts->AddFontFromMemoryTTF(data, int(bytes.size()), size_px, &config, ranges.Data);
}

/// All letters in one atlas, `density` of its pixels for one of the window. `width_px` 0: as Dear ImGui likes it.
void bake(Ui& ui, const Sizes& far, const Sizes& near, float density, const ImVector<ImWchar>& ranges,
          const ImVector<ImWchar>& figure_ranges, int width_px) {
    ImGuiIO& io = ImGui::GetIO();
    io.Fonts->Clear();
    io.Fonts->Flags |= ImFontAtlasFlags_NoMouseCursors | ImFontAtlasFlags_NoPowerOfTwoHeight;
    io.Fonts->TexDesiredWidth = width_px;
    io.FontGlobalScale = 1 / density;
    const auto size = [&](float px) { return std::round(px * density); };
    ui.fonts.text = add_font(Face::text, size(far.text), ranges);
    ui.fonts.strong = add_font(Face::strong, size(far.text), ranges);
    ui.fonts.heading = far.heading == far.text ? ui.fonts.strong : add_font(Face::strong, size(far.heading), ranges);
    ui.fonts.figure = add_font(Face::strong, size(far.figure), figure_ranges);
    ui.near_fonts = ui.fonts;
    if (near.text != far.text) {
        ui.near_fonts.text = add_font(Face::text, size(near.text), ranges);
        ui.near_fonts.strong = add_font(Face::strong, size(near.text), ranges);
        ui.near_fonts.heading = add_font(Face::strong, size(near.heading), ranges);
        ui.near_fonts.figure = add_font(Face::strong, size(near.figure), figure_ranges);
    }
    io.Fonts->Build();
}

} // namespace

void load_letters(Ui& ui, const Sizes& far, const Sizes& near, float density, const Texts& texts, int most_px) {
    ImGuiIO& io = ImGui::GetIO();

    // The atlas reads the ranges when it is built, so they live until then.
    ImFontGlyphRangesBuilder all, figures;
    constexpr std::array<ImWchar, 3> ASCII{0x20, 0x7E, 0};
    all.AddText(OWN);
    if (texts.only.empty()) {
        all.AddRanges(io.Fonts->GetGlyphRangesDefault());
        figures.AddText("0123456789 +-.,/;:()%#\"'ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz");
        figures.AddText(OWN);
    } else {
        all.AddRanges(ASCII.data());
        all.AddText(texts.only.c_str());
        figures.AddText(" ?"); // no figure is shown yet, and a font wants a letter for what it lacks
    }
    if (texts.session != nullptr) {
        add_texts(all, *texts.session);
        for (const auto* cards : {&texts.session->strip_cards, &texts.session->refit_cards})
            for (const StepCard& card : *cards)
                for (const Hardware& hardware : card.hardware)
                    for (const std::string* text : {&hardware.size, &hardware.tool, &hardware.torque})
                        figures.AddText(text->c_str());
    }
    ImVector<ImWchar> ranges, figure_ranges;
    all.BuildRanges(&ranges);
    figures.BuildRanges(&figure_ranges);

    // Letters for 3 m on a fine screen want more than such a texture holds: then they are baked smaller, and drawn
    // larger.
    constexpr int TRIES = 6;
    for (int i = 0; i < TRIES; ++i) {
        bake(ui, far, near, density, ranges, figure_ranges, i == 0 ? 0 : std::min(most_px, WIDEST_PX));
        const auto most = float(most_px), high = float(io.Fonts->TexHeight);
        if (high <= most && io.Fonts->TexWidth <= most_px)
            break;
        density *= std::min(0.9F, std::sqrt(most / std::max(high, float(io.Fonts->TexWidth))));
    }
}

float capital_height_px(const Ui& ui) {
    const ImFontGlyph* capital = ui.fonts.text->FindGlyph('H');
    return (capital->Y1 - capital->Y0) * ImGui::GetIO().FontGlobalScale;
}

} // namespace boltwalk
