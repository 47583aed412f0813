// The marks on buttons and before lines: drawn, so that no font need have them.
#include "viewer/panels/controls.hpp"

#include <algorithm>
#include <array>

namespace boltwalk {

void draw_mark(ImDrawList* list, Mark mark, const Box& box, ImU32 colour, float t, ImU32 inner) {
    const float s = std::min(box.w, box.h);
    const auto at = [&](float u, float v) { return ImVec2{box.x + u * s, box.y + v * s}; };
    const auto line = [&](float u, float v, float w, float z) { list->AddLine(at(u, v), at(w, z), colour, t); };
    const ImU32 stroke = inner == 0 ? colour : inner;
    switch (mark) {
    case Mark::none:
        break;
    case Mark::forward:
        list->AddTriangleFilled(at(0.2F, 0.05F), at(0.9F, 0.5F), at(0.2F, 0.95F), colour);
        break;
    case Mark::back:
        list->AddTriangleFilled(at(0.8F, 0.05F), at(0.8F, 0.95F), at(0.1F, 0.5F), colour);
        break;
    case Mark::up:
        list->AddTriangleFilled(at(0.5F, 0.15F), at(0.95F, 0.8F), at(0.05F, 0.8F), colour);
        break;
    case Mark::down:
        list->AddTriangleFilled(at(0.05F, 0.2F), at(0.95F, 0.2F), at(0.5F, 0.85F), colour);
        break;
    case Mark::plus:
        line(0.5F, 0.05F, 0.5F, 0.95F);
        [[fallthrough]];
    case Mark::minus:
        line(0.05F, 0.5F, 0.95F, 0.5F);
        break;
    case Mark::caution:
        list->AddTriangleFilled(at(0.5F, 0.0F), at(1.02F, 0.95F), at(-0.02F, 0.95F), colour);
        list->AddRectFilled(at(0.44F, 0.33F), at(0.56F, 0.65F), stroke);
        list->AddRectFilled(at(0.44F, 0.72F), at(0.56F, 0.84F), stroke);
        break;
    case Mark::fault:
        list->AddRectFilled(at(0.08F, 0.08F), at(0.92F, 0.92F), colour);
        break;
    case Mark::doubt:
        list->AddQuad(at(0.5F, 0.0F), at(1.0F, 0.5F), at(0.5F, 1.0F), at(0.0F, 0.5F), colour, t);
        list->AddTriangleFilled(at(0.5F, 0.0F), at(0.5F, 1.0F), at(0.0F, 0.5F), colour);
        break;
    case Mark::note:
        list->AddCircle(at(0.5F, 0.5F), s * 0.42F, colour, 24, std::max(t, s * 0.12F));
        break;
    case Mark::done: {
        const std::array<ImVec2, 3> tick{at(0.1F, 0.55F), at(0.4F, 0.85F), at(0.92F, 0.15F)};
        list->AddPolyline(tick.data(), 3, colour, 0, std::max(t, s * 0.14F));
        break;
    }
    case Mark::now:
        list->AddTriangleFilled(at(0.1F, 0.0F), at(0.95F, 0.5F), at(0.1F, 1.0F), colour);
        break;
    case Mark::ahead:
        list->AddCircle(at(0.5F, 0.5F), s * 0.22F, colour, 16, t);
        break;
    case Mark::drawing:
        list->AddQuad(at(0.5F, 0.0F), at(0.95F, 0.24F), at(0.5F, 0.48F), at(0.05F, 0.24F), colour, t);
        line(0.05F, 0.24F, 0.05F, 0.74F);
        line(0.95F, 0.24F, 0.95F, 0.74F);
        line(0.5F, 0.48F, 0.5F, 1.0F);
        line(0.05F, 0.74F, 0.5F, 1.0F);
        line(0.95F, 0.74F, 0.5F, 1.0F);
        break;
    case Mark::words:
        line(0.05F, 0.15F, 0.95F, 0.15F);
        line(0.05F, 0.5F, 0.95F, 0.5F);
        line(0.05F, 0.85F, 0.6F, 0.85F);
        break;
    case Mark::dials:
        for (int i = 0; i < 3; ++i) {
            const float v = 0.15F + 0.35F * float(i), u = i == 1 ? 0.3F : 0.7F;
            line(0, v, 1, v);
            list->AddRectFilled(at(u - 0.09F, v - 0.13F), at(u + 0.09F, v + 0.13F), colour);
        }
        break;
    case Mark::bolt:
        list->AddNgon(at(0.5F, 0.5F), s * 0.48F, colour, 6, t);
        list->AddCircle(at(0.5F, 0.5F), s * 0.2F, colour, 16, t);
        break;
    }
}

} // namespace boltwalk
