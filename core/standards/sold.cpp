#include <algorithm>
#include <cmath>
#include <fmt/format.h>
#include <vector>

#include "core/measure/spelling.hpp"
#include "core/standards/drive_tables.hpp"
#include "core/standards/reading.hpp"

namespace boltwalk {

using namespace spelling;

namespace {

/// Inch sizes are computed, so equal ones may differ in the last bits; the closest neighbours (13 mm, 1/2 in) are 0.3
/// mm apart.
bool is_keyed(DriveKind kind) {
    return kind == DriveKind::socket || kind == DriveKind::hexalobular;
}

struct Question {
    const Thread& thread;
    DriveKind kind; ///< hex for bihex
    bool castle;
    std::string_view head;
};

/// Whether `series` has a say for this kind of fastener, whatever its size.
bool concerns(const DriveSeries& series, const Question& question) {
    return series.kind == question.kind && series.form == question.thread.form && series.castle == question.castle &&
           (series.head.empty() || question.head.empty() || series.head == question.head);
}

/// "16", or "9/16 in".
std::string print_size(const DriveSeries& series, double drive) {
    return series.form == ThreadForm::unified ? fmt::format("{} in", print_inches(std::round(drive / 25.4 * 64) / 64))
                                              : print_number(drive);
}

/// "M10 is sold with hex 16 (ISO 4014/4017/4032, EN 1665), 17 (DIN 931/933/934)" from the tables seen in print; empty
/// if none has this thread.
std::string sold_with(const Question& question) {
    struct Choice {
        std::string size, names;
    };
    std::vector<Choice> choices;
    for (const DriveSeries& series : drive_series()) {
        if (series.from_memory || !concerns(series, question)) {
            continue;
        }
        for (const SizeRow& row : series.rows) {
            if (!same(row.diameter_mm, question.thread.diameter_mm)) {
                continue;
            }
            const std::string size = print_size(series, row.drive);
            const auto known =
                std::find_if(choices.begin(), choices.end(), [&](const Choice& c) { return c.size == size; });
            if (known == choices.end()) {
                choices.push_back({size, std::string(series.name)});
            } else {
                known->names += fmt::format(", {}", series.name);
            }
        }
    }
    std::string out;
    for (const Choice& choice : choices) {
        out += fmt::format("{}{} ({})", out.empty() ? "" : ", ", choice.size, choice.names);
    }
    if (out.empty()) {
        return out;
    }
    const Thread& thread = question.thread;
    const std::string_view drive = question.kind == DriveKind::socket        ? "socket"
                                   : question.kind == DriveKind::hexalobular ? "hexalobular"
                                                                             : "hex";
    return fmt::format(
        "{}{} is sold with {} {}",
        thread.form == ThreadForm::metric ? fmt::format("M{}", print_number(thread.diameter_mm)) : thread.name,
        question.castle                                      ? " as a castle nut"
        : is_keyed(question.kind) && question.head == "none" ? " without a head"
        : is_keyed(question.kind) && !question.head.empty()  ? fmt::format(" with a {} head", question.head)
                                                             : std::string(),
        drive, out);
}

/// The names of the series that list `size`, those from memory marked so.
std::string listing(const Question& question, double size) {
    std::string names;
    for (const DriveSeries& series : drive_series()) {
        const auto lists = [&](const SizeRow& row) {
            return same(row.diameter_mm, question.thread.diameter_mm) && same(row.drive, size);
        };
        if (concerns(series, question) && std::any_of(series.rows.begin(), series.rows.end(), lists)) {
            names += fmt::format("{}{}{}", names.empty() ? "" : ", ", series.name,
                                 series.from_memory ? " (from memory)" : "");
        }
    }
    return names;
}

} // namespace

Sold is_sold(const Thread& thread, const Drive& drive, FastenerForm form, std::string_view head, std::string* series) {
    if (series) {
        series->clear();
    }
    const bool covered_form =
        form == FastenerForm::bolt || form == FastenerForm::nut || form == FastenerForm::castle_nut;
    const bool keyed_nut = is_keyed(drive.kind) && form != FastenerForm::bolt;
    if (!covered_form || keyed_nut || thread.series == ThreadSeries::unlisted) {
        return Sold::unknown;
    }
    const Question question{thread, drive.kind == DriveKind::bihex ? DriveKind::hex : drive.kind,
                            form == FastenerForm::castle_nut, head};
    if (std::string names = listing(question, drive.size); !names.empty()) {
        if (series) {
            *series = std::move(names);
        }
        return Sold::listed;
    }
    if (drive.kind == DriveKind::bihex) {
        return Sold::unknown;
    }
    std::string others = sold_with(question);
    if (others.empty()) {
        return Sold::unknown;
    }
    if (series) {
        *series = std::move(others);
    }
    return Sold::not_listed;
}

std::vector<SizeSold> sizes_sold_with(DriveKind kind, double measured_mm, bool castle, double share) {
    std::vector<SizeSold> found;
    for (const DriveSeries& series : drive_series()) {
        if (series.kind != kind || series.castle != castle || series.form == ThreadForm::pipe)
            continue;
        for (const SizeRow& row : series.rows) {
            if (!(std::abs(row.drive - measured_mm) <= share * row.drive))
                continue;
            const auto known = std::find_if(found.begin(), found.end(), [&](const SizeSold& one) {
                return same(one.diameter_mm, row.diameter_mm) && same(one.drive.size, row.drive);
            });
            if (known != found.end()) {
                known->series += fmt::format(", {}", series.name);
                known->from_memory = known->from_memory && series.from_memory;
                continue;
            }
            SizeSold one;
            one.diameter_mm = row.diameter_mm;
            one.size = series.form == ThreadForm::unified
                           ? fmt::format("{} in", print_inches(std::round(row.diameter_mm / 25.4 * 64) / 64))
                           : fmt::format("M{}", print_number(row.diameter_mm));
            one.drive = {
                kind, row.drive,
                fmt::format("{} {}", kind == DriveKind::socket ? "socket" : "hex", print_size(series, row.drive))};
            one.series = series.name;
            one.from_memory = series.from_memory;
            found.push_back(std::move(one));
        }
    }
    std::stable_sort(found.begin(), found.end(), [&](const SizeSold& a, const SizeSold& b) {
        const double off_a = std::abs(a.drive.size - measured_mm);
        const double off_b = std::abs(b.drive.size - measured_mm);
        return std::abs(off_a - off_b) > 0.005 ? off_a < off_b : a.diameter_mm < b.diameter_mm;
    });
    return found;
}

} // namespace boltwalk
