// What could go into a place by mistake: of all that lies in the tray, what is as thick and does not belong there.
#include <algorithm>
#include <cmath>
#include <string_view>

#include <fmt/format.h>

#include "core/log/ledger.hpp"

namespace boltwalk {

namespace {

std::string differences(const PieceKind& wanted, const PieceKind& is) {
    std::string out;
    const auto add = [&](const std::string& words) { out += (out.empty() ? "" : "; ") + words; };
    const auto other = [&](const char* what, std::string_view its, std::string_view right) {
        constexpr std::string_view unknown = "not stated";
        if (its != right)
            add(fmt::format("another {}: {}, not {}", what, its.empty() ? unknown : its,
                            right.empty() ? unknown : right));
    };
    if (is.length_mm > 0 && wanted.length_mm > 0 && is.length_mm != wanted.length_mm)
        add(fmt::format("{} mm {}", print_number(std::abs(is.length_mm - wanted.length_mm), 3),
                        is.length_mm < wanted.length_mm ? "shorter" : "longer"));
    other("kind", spoken(is.what), spoken(wanted.what));
    other("thread", is.thread, wanted.thread);
    other("head", spoken_head(is.head), spoken_head(wanted.head));
    other("grade", is.grade, wanted.grade);
    if ((is.length_mm > 0) != (wanted.length_mm > 0))
        add("one length is not stated");
    return out.empty() ? "the same kind, of another place" : out;
}

} // namespace

bool look_alike(const PieceKind& a, const PieceKind& b) {
    return a.what == b.what && a.thread == b.thread && a.head == b.head && !a.thread.empty();
}

std::vector<Mistaken> mistaken_for(const Job& job, const JobNow& now, ItemId site) {
    const Map& map = *job.map;
    const Fastener& fastener = map.fastener(site);
    std::vector<Mistaken> out;
    if (!fastener.thread)
        return out;
    const PieceKind wanted = kind_of(fastener);
    for (const HardwarePiece& piece : now.pieces) {
        if (piece.whereabouts != Whereabouts::tray || !piece.from || piece.from == site)
            continue;
        if (goes_over_a_shank(piece.kind.what) != goes_over_a_shank(fastener.kind))
            continue; // no nut goes into a hole
        const bool own_place = fastener.own_place || map.fastener(piece.from).own_place;
        const auto thread = read_thread(piece.kind.thread);
        if ((belongs(map, piece, site) && !own_place) || !thread || thread->diameter_mm != fastener.thread->diameter_mm)
            continue;
        const auto before =
            std::find_if(out.begin(), out.end(), [&](const Mistaken& one) { return one.kind == piece.kind; });
        if (before != out.end())
            ++before->count;
        else
            out.push_back({piece.from, 1, piece.kind, look_alike(piece.kind, wanted), differences(wanted, piece.kind)});
    }
    std::stable_partition(out.begin(), out.end(), [](const Mistaken& one) { return one.alike; });
    return out;
}

} // namespace boltwalk
