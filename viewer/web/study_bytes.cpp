#include "viewer/web/study_bytes.hpp"

#include <emscripten.h>

#include <cstdio>
#include <cstring>
#include <tuple>
#include <type_traits>
#include <utility>

#include <fmt/format.h>

// clang-format off
EM_JS(void, worker_hand_over, (const char* bytes, int size), { Module.handOver(HEAPU8.slice(bytes, bytes + size)); });
// clang-format on

namespace boltwalk {

namespace {

/// Writes or reads one value after the other; which of both is told by the type.
struct Writer {
    std::string bytes;
    void raw(const void* from, std::size_t size) { bytes.append(static_cast<const char*>(from), size); }
};
template <typename T>
concept Plain = std::is_trivially_copyable_v<T>;

struct Reader {
    std::string_view bytes;
    bool good = true;
    void raw(void* into, std::size_t size) {
        good = good && bytes.size() >= size;
        if (!good)
            return;
        std::memcpy(into, bytes.data(), size);
        bytes.remove_prefix(size);
    }
};

template <typename Archive, Plain T>
void each(Archive& archive, T& value) {
    archive.raw(&value, sizeof value);
}

template <typename Archive, typename List>
void each_of(Archive& archive, List& list) {
    std::uint32_t count = std::uint32_t(list.size());
    archive.raw(&count, sizeof count);
    if constexpr (std::is_same_v<Archive, Reader>) {
        // Every element takes a byte at least.
        archive.good = archive.good && count <= archive.bytes.size();
        list.resize(archive.good ? count : 0);
    }
    for (auto& one : list)
        each(archive, one);
}
template <typename Archive>
void each(Archive& archive, std::string& text) {
    each_of(archive, text);
}
template <typename Archive>
void each(Archive&, StepView&);
template <typename Archive>
void each(Archive&, OutOfSight&);
template <typename Archive>
void each(Archive&, Overlays&);
template <typename Archive>
void each(Archive&, Track&);
template <typename Archive>
void each(Archive&, ToolDrawn&);
template <typename Archive>
void each(Archive&, Words&);
template <typename Archive>
void each(Archive&, Plumb&);
template <typename Archive>
void each(Archive&, Explosion&);
template <typename Archive>
void each(Archive&, InTheWay&);
template <typename Archive>
void each(Archive&, Estimates&);
template <typename Archive>
void each(Archive&, Estimate&);
template <typename Archive>
void each(Archive&, Alternative&);
template <typename Archive>
void each(Archive&, Finding&);
template <typename Archive, typename T>
void each(Archive& archive, std::vector<T>& list) {
    each_of(archive, list);
}

template <typename Archive, typename... Parts>
void all(Archive& archive, Parts&... parts) {
    (each(archive, parts), ...);
}

template <typename Archive>
void each(Archive& a, StepView& v) {
    all(a, v.found, v.camera, v.glass);
}
template <typename Archive>
void each(Archive& a, OutOfSight& o) {
    all(a, o.fastener, o.share, o.hidden_by, o.seen_after, o.view);
}
template <typename Archive>
void each(Archive& a, Overlays& o) {
    all(a, o.glass, o.tracks, o.tools, o.plumbs);
}
template <typename Archive>
void each(Archive& a, Track& t) {
    all(a, t.part, t.points, t.estimated);
}
template <typename Archive>
void each(Archive& a, ToolDrawn& t) {
    all(a, t.fastener, t.words, t.rods, t.arc, t.pivot);
}
template <typename Archive>
void each(Archive& a, Words& w) {
    all(a, w.headline, w.detail);
}
template <typename Archive>
void each(Archive& a, Plumb& p) {
    all(a, p.centre, p.low_m, p.high_m, p.words);
}
template <typename Archive>
void each(Archive& a, Explosion& e) {
    all(a, e.legs);
}
template <typename Archive>
void each(Archive& a, InTheWay& i) {
    all(a, i.by, i.words);
}
template <typename Archive>
void each(Archive& a, Estimates& e) {
    all(a, e.list, e.of_item, e.doubts);
}
template <typename Archive>
void each(Archive& a, Estimate& e) {
    all(a, e.item, e.question, e.alternatives, e.on_bench, e.moved, e.measured_low);
}
template <typename Archive>
void each(Archive& a, Alternative& o) {
    all(a, o.gone, o.lowered, o.undecided, o.stays, o.scenery, o.never, o.tried, o.how);
}
template <typename Archive>
void each(Archive& a, Finding& f) {
    all(a, f.weight, f.rule, f.nodes, f.key, f.value, f.what, f.why, f.remedy);
}

// A field added to one of these has to go over too: then its size changes, and this says so.
constexpr std::size_t LIST = sizeof(std::vector<int>), TEXT = sizeof(std::string);
static_assert(sizeof(Overlays) == 4 * LIST && sizeof(Explosion) == LIST && sizeof(Words) == 2 * TEXT);
static_assert(sizeof(Track) == sizeof(ItemId) + LIST + 4 && sizeof(ToolDrawn) == 4 + 2 * TEXT + 2 * LIST + 4 + 24);
static_assert(sizeof(Plumb) == 5 * sizeof(double) + sizeof(Words) && sizeof(InTheWay) == sizeof(ItemId) + TEXT);
static_assert(sizeof(OutOfSight) == 8 + 8 + 2 * TEXT + sizeof(StepView));
static_assert(sizeof(Estimates) == 3 * LIST && sizeof(Finding) == 4 + LIST + 6 * TEXT);
static_assert(sizeof(Estimate) == 8 + LIST + 4 + 2 * LIST);
static_assert(sizeof(Alternative) == 5 * LIST + 4 + TEXT);
static_assert(std::is_trivially_copyable_v<Camera> && std::is_trivially_copyable_v<ExplodeLeg>);

enum class Kind : std::uint8_t {
    opening, ///< how far the other's is
    shapes,  ///< what is in whose way
    strip_views,
    refit_views,
    working, ///< how far the study is
    out_of_sight,
    apart,
    strip,
    refit,
    in_the_way,
    end, ///< page.js says this, too: 10
};
static_assert(int(Kind::end) == 10);

template <typename... Values>
std::string piece(Kind kind, Values... values) {
    Writer writer;
    all(writer, kind, values...);
    return writer.bytes;
}

/// Reads all of them or changes none.
template <typename... Values>
bool taken(Reader& reader, Values&... into) {
    std::tuple<Values...> made;
    std::apply([&](auto&... one) { all(reader, one...); }, made);
    if (reader.good)
        std::tie(into...) = std::move(made);
    return reader.good;
}

void hand_over(const std::string& bytes) {
    worker_hand_over(bytes.data(), int(bytes.size()));
}

/// In the worker: what goes on there, and how much of it the page knows.
struct Beside {
    const Opening* opening = nullptr;
    const Study* study = nullptr;
    bool shapes = false;
    int parts = 0;
} beside;

void hand_over_what_is_new() {
    if (beside.opening != nullptr && !beside.shapes)
        hand_over(piece(Kind::opening, beside.opening->share()));
    if (beside.study != nullptr)
        StudyBytes::hand_over_new(*beside.study, beside.parts);
}

} // namespace

std::string text_of(const Room& room) {
    return fmt::format("{} {} {} {} {} {}", room.size_px.x, room.size_px.y, room.clear.x, room.clear.y,
                       room.clear.width, room.clear.height);
}

void StudyBytes::hand_over_new(const Study& study, int& handed) {
    const auto part = [&](int number) {
        switch (number) {
        case 0:
            return piece(Kind::out_of_sight, study.out_of_sight_);
        case 1:
            return piece(Kind::apart, study.session_.eyes.solids.body_of, study.explosion_);
        case 2:
            return piece(Kind::strip, study.strip_);
        case 3:
            return piece(Kind::refit, study.refit_);
        default:
            return piece(Kind::in_the_way, study.in_the_way_);
        }
    };
    while (handed < study.done_)
        hand_over(part(handed++));
    if (handed < Study::parts)
        hand_over(piece(Kind::working, study.share()));
}

bool StudyBytes::take(std::string_view bytes, Opening& opening) {
    Reader reader{bytes};
    Kind kind{};
    each(reader, kind);
    if (!reader.good)
        return false;
    if (kind == Kind::opening) {
        float share = 0;
        if (taken(reader, share))
            opening.take_share(share);
        return true;
    }
    if (kind == Kind::shapes) {
        Estimates shapes;
        if (taken(reader, shapes))
            opening.take_shapes(std::move(shapes));
        else
            opening.ask_shapes_here();
        return true;
    }
    if (kind == Kind::end)
        opening.ask_shapes_here();
    return false;
}

bool StudyBytes::is_end(std::string_view bytes) {
    return !bytes.empty() && bytes.front() == char(Kind::end);
}

bool StudyBytes::take(std::string_view bytes, Session& session, Study& study) {
    Reader reader{bytes};
    Kind kind{};
    each(reader, kind);
    if (!reader.good)
        return false;
    const auto next = [&](int number, auto&... into) {
        if (study.done_ != number || !taken(reader, into...))
            return false;
        if (++study.done_ < Study::parts)
            study.begin(study.done_);
        study.tell();
        return true;
    };
    switch (kind) {
    case Kind::working: {
        float share = 0;
        if (study.done_ == 0 && study.share_ <= 0)
            study.begin(0);
        if (!taken(reader, share))
            return false;
        study.share_ = share;
        study.tell();
        return true;
    }
    case Kind::out_of_sight:
        return next(0, study.out_of_sight_);
    case Kind::apart:
        return next(1, session.eyes.solids.body_of, study.explosion_);
    case Kind::strip:
        return next(2, study.strip_);
    case Kind::refit:
        return next(3, study.refit_);
    case Kind::in_the_way:
        return next(4, study.in_the_way_);
    case Kind::strip_views:
        return taken(reader, session.strip_views);
    case Kind::refit_views:
        return taken(reader, session.refit_views);
    case Kind::end:
        study.finished_ = true;
        study.tell();
        return true;
    case Kind::opening:
    case Kind::shapes:
        return false; // the page was quicker, and asked the shapes itself
    }
    return false;
}

void StudyBytes::work_from(Study& study, int part) {
    study.done_ = part;
    beside.parts = part;
    beside.study = &study;
    study.work();
    beside.study = nullptr;
}

void work_out_beside(const char* path, const char* room_text, int from) {
    Room room;
    std::sscanf(room_text, "%lf %lf %lf %lf %lf %lf", &room.size_px.x, &room.size_px.y, &room.clear.x, &room.clear.y,
                &room.clear.width, &room.clear.height);
    Opening opening(path, room);
    beside = {};
    beside.opening = &opening;
    on_opening_progress(hand_over_what_is_new);
    while (opening.step())
        if (!beside.shapes && opening.shapes()) {
            beside.shapes = true;
            hand_over(piece(Kind::shapes, *opening.shapes()));
        }
    beside.opening = nullptr;
    if (opening.session && !opening.session->map.items.empty()) {
        Session& session = *opening.session;
        if (from > 0) {
            session.eyes = make_eyes(session.map);
        } else {
            find_views(session, {});
            hand_over(piece(Kind::strip_views, session.strip_views));
            hand_over(piece(Kind::refit_views, session.refit_views));
        }
        Study study(session);
        StudyBytes::work_from(study, from);
    }
    on_opening_progress(nullptr);
    hand_over(piece(Kind::end));
}

} // namespace boltwalk
