// The sheet: the job on paper, as a PDF whose text can be selected and whose letters are embedded.
//
//   print_sheet()    before the job: cautions, tools, what to buy, the way out and the way back step by step with boxes
//                    to tick, a bolt board at true scale, labels for bags
//   print_record()   after it, from the log: what was tightened to what, replaced, repaired, left open; to be signed
//   outline_of()     what of a fastener is drawn on the bolt board
//
// Paper millimetres everywhere; nothing rests on colour. Figures stand here only as the author stated them; what the
// model alone says is dashed or called estimated. A library of its own (boltwalk_sheet), for it brings Cairo and Pango.
// Errors are sentences.
#pragma once

#include <cstdint>
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include <tl/expected.hpp>

#include "core/geometry/head.hpp"
#include "core/job/job.hpp"
#include "core/log/log.hpp"

namespace boltwalk {

enum class Paper : std::uint8_t {
    a4,     ///< 210 x 297 mm (ISO 216)
    letter, ///< 8.5 x 11 in (ANSI/ASME Y14.1, size A)
};

/// A picture ready for the page: a JPEG file's bytes and how large it is.
struct SheetPicture {
    std::string jpeg;
    int width_px = 0, height_px = 0;
};

struct SheetSettings {
    Paper paper = Paper::a4;
    TorqueUnit unit = TorqueUnit::newton_metre; ///< the person's; the manual's own words stand beside it
    /// Of a step, from 0; none: it is printed without. May be empty. Called once a step, in order.
    std::function<std::optional<SheetPicture>(bool refit, std::size_t step)> picture;
    bool boards = true; ///< the bolt board and the labels
};

/// A PDF file's bytes. `strip` and `refit` are the plans of one job, the way back from where the way out ends.
tl::expected<std::string, std::string> print_sheet(const Job&, const Plan& strip, const Plan& refit,
                                                   const SheetSettings& = {});

/// What the record is made of: a log, folded.
struct Done {
    const std::vector<Entry>& entries;
    const JobNow& now;
    std::vector<std::string> differs; ///< Match::differs: how the map has changed since
};
tl::expected<std::string, std::string> print_record(const Job&, const Done&, const SheetSettings& = {});

/// Where a measure of an outline comes from.
enum class Source : std::uint8_t {
    stated, ///< by the author, or by the standard that a stated size names
    model,  ///< measured on the model's triangles: an estimate, drawn dashed
};

/// A fastener laid on its side. Lengths in millimetres; shank_length 0: it has none (a nut, a washer), and is drawn end
/// on: `across` and, where bore is above 0, its hole.
struct Outline {
    double across = 0;       ///< the head, or the nut or washer end on: the circle about it
    double head_height = 0;  ///< 0: a stud or a pin
    double shank_width = 0;  ///< or the hole
    double shank_length = 0; ///< below the head
    int sides = 0;           ///< 6: a hexagon; 0: round
    Source across_from = Source::model, height_from = Source::model, width_from = Source::model,
           length_from = Source::model;
};
/// None: nothing of it is stated and it has no shape. `heads` are heads_of(solids).
std::optional<Outline> outline_of(const Solids&, const std::vector<Head>& heads, const Fastener&);

} // namespace boltwalk
