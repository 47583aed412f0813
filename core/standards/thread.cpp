#include <algorithm>
#include <cmath>
#include <fmt/format.h>
#include <optional>

#include "core/measure/spelling.hpp"
#include "core/standards/reading.hpp"
#include "core/standards/standards.hpp"
#include "core/standards/thread_tables.hpp"

namespace boltwalk {

using namespace spelling;

namespace {

constexpr double smallest_metric_mm = 0.2;
constexpr double largest_metric_mm = 1000;
constexpr double finest_pitch_mm = 0.05;
constexpr double largest_inch = 6;
/// Coarser than any listed pitch (M1 has 0.25): beyond it the figure is a length, as in "M10x30".
constexpr double most_pitch_share = 1.0 / 3.0;

bool equal(double a, double b) {
    return std::abs(a - b) < 1e-9;
}

tl::unexpected<Mistake> no_thread(std::string_view text) {
    return wrong(
        fmt::format("{} is no thread designation that is known here.", quoted(text)),
        "Write it like \"M10\", \"M10x1.25\", \"3/8-16 UNC\", \"G 3/8\" or \"NPT 1/4\"; leave the key out where "
        "the thread is not known.");
}

std::string_view take_word(std::string_view& rest) {
    std::size_t n = 0;
    while (n < rest.size() && is_letter(rest[n])) {
        ++n;
    }
    const std::string_view word = rest.substr(0, n);
    rest.remove_prefix(n);
    return word;
}

bool number_ahead(std::string_view rest) {
    return !rest.empty() && (is_digit(rest[0]) || rest.starts_with('.'));
}

/// Takes a tolerance class, "-6g", "6H/6g", "-2A", whose letters are among `letters`, from the front.
void take_class(std::string_view& rest, std::string_view letters) {
    std::string_view ahead = rest;
    skip_blanks(ahead);
    take(ahead, "-");
    skip_blanks(ahead);
    bool found = false;
    while (ahead.size() >= 2 && is_digit(ahead[0]) && letters.find(ahead[1]) != std::string_view::npos) {
        ahead.remove_prefix(2);
        take(ahead, "/");
        found = true;
    }
    if (found) {
        rest = ahead;
    }
}

/// What may still stand behind a thread: nothing.
std::optional<Mistake> leftover(std::string_view rest, std::string_view text) {
    skip_blanks(rest);
    if (rest.empty()) {
        return std::nullopt;
    }
    take(rest, "-");
    skip_blanks(rest);
    if (rest == "lh" || rest == "left") {
        return Mistake{fmt::format("{} says the hand of the thread.", quoted(text)),
                       "Leave it out here and write the key \"hand\" with the value \"left\"."};
    }
    return Mistake{
        fmt::format("In {} it is not clear what {} means.", quoted(text), quoted(rest)),
        "Write only the thread, like \"M10x1.25\"; a length belongs into \"length_mm\", the rest into \"note\"."};
}

// ---------------------------------------------------------------------------------------------------------- metric

Reading<Thread> metric_thread(double diameter, std::optional<double> pitch, std::string_view text) {
    const auto sizes = metric_sizes();
    const auto size =
        std::find_if(sizes.begin(), sizes.end(), [&](const MetricSize& s) { return equal(s.diameter_mm, diameter); });
    const bool known = size != sizes.end();
    const std::string d = print_number(diameter, figures);
    if (!pitch && (!known || size->coarse_mm == 0)) {
        return wrong(fmt::format("M{} has no coarse pitch in ISO 261, and none is written.", d),
                     fmt::format("Write the pitch, for instance \"M{}x1.5\".", d));
    }
    if (pitch && *pitch >= diameter * most_pitch_share) {
        return wrong(
            fmt::format("In {} the pitch would be {} mm; that is rather a length.", quoted(text), print_number(*pitch)),
            fmt::format("Write the thread as \"M{}\" and the length in \"length_mm\".", d));
    }
    Thread thread;
    thread.diameter_mm = diameter;
    thread.pitch_mm = pitch ? *pitch : size->coarse_mm;
    if (known && equal(thread.pitch_mm, size->coarse_mm)) {
        thread.series = ThreadSeries::iso_coarse;
        thread.name = fmt::format("M{}", d);
        return thread;
    }
    const auto is_pitch = [&](double fine) { return equal(fine, thread.pitch_mm); };
    if (known && std::any_of(std::begin(size->fine_mm), std::end(size->fine_mm), is_pitch)) {
        thread.series = ThreadSeries::iso_fine;
    }
    thread.name = fmt::format("M{}x{}", d, print_number(thread.pitch_mm, figures));
    return thread;
}

/// `rest` stands behind the "m".
Reading<Thread> read_metric(std::string_view rest, std::string_view text) {
    const Reading<double> diameter = take_number(rest);
    if (!diameter) {
        return tl::unexpected(diameter.error());
    }
    if (*diameter < smallest_metric_mm || *diameter > largest_metric_mm) {
        return no_thread(text);
    }
    std::optional<double> pitch;
    std::string_view ahead = rest;
    skip_blanks(ahead);
    const bool dash = ahead.starts_with('-');
    if (take(ahead, "x") || take(ahead, "-")) {
        skip_blanks(ahead);
        if (!dash || number_ahead(ahead)) {
            const Reading<double> number = take_number(ahead);
            if (!number) {
                return wrong(fmt::format("In {} no pitch can be read.", quoted(text)),
                             fmt::format("{} Write the pitch in millimetres, like \"M10x1.25\".", number.error().what));
            }
            if (!dash || ahead.empty() || !is_letter(ahead[0]) || ahead[0] == 'x') { // else a class: "M10-6g"
                if (*number < finest_pitch_mm) {
                    return wrong(fmt::format("{} has a pitch finer than any thread.", quoted(text)),
                                 "Write the pitch in millimetres, like \"M10x1.25\".");
                }
                pitch = *number;
                rest = ahead;
            }
        }
    }
    ahead = rest;
    skip_blanks(ahead);
    if (pitch && take(ahead, "x")) {
        return wrong(fmt::format("{} says a length, too.", quoted(text)),
                     "Write only the thread here, and the length in \"length_mm\".");
    }
    take_class(rest, "cdefgh");
    if (std::optional<Mistake> mistake = leftover(rest, text)) {
        return tl::unexpected(*std::move(mistake));
    }
    return metric_thread(*diameter, pitch, text);
}

// ---------------------------------------------------------------------------------------------------------- unified

/// The size of a unified or pipe thread as written.
struct InchSize {
    double value = 0;
    bool numbered = false; ///< "#10"
    bool bare = false;     ///< a whole number without a mark: inches or a number size
};

Reading<InchSize> take_inch_size(std::string_view& rest) {
    InchSize size;
    size.numbered = take(rest, "#");
    const std::string_view start = rest;
    const Reading<Fraction> value = take_fraction(rest);
    if (!value) {
        return tl::unexpected(value.error());
    }
    const std::string_view written = start.substr(0, start.size() - rest.size());
    size.value = value->value;
    std::string_view ahead = rest;
    skip_blanks(ahead);
    const bool marked = take(ahead, "\"") || (take(ahead, "in") && (ahead.empty() || !is_letter(ahead[0])));
    if (marked) {
        rest = ahead;
    }
    size.bare = !size.numbered && !marked && std::all_of(written.begin(), written.end(), is_digit);
    return size;
}

/// Takes "-16", "x16" or " 16", if it stands there.
Reading<std::optional<double>> take_per_inch(std::string_view& rest) {
    std::string_view ahead = rest;
    skip_blanks(ahead);
    if (!take(ahead, "-")) {
        take(ahead, "x");
    }
    skip_blanks(ahead);
    if (!number_ahead(ahead)) {
        return std::nullopt;
    }
    const Reading<double> number = take_number(ahead);
    if (!number) {
        return tl::unexpected(number.error());
    }
    rest = ahead;
    return std::optional<double>(*number);
}

using PerInch = double UnifiedSize::*;

struct UnifiedSeries {
    std::string_view suffix; ///< as read
    std::string_view name;   ///< as printed
    PerInch per_inch;
};

constexpr UnifiedSeries unified_series[] = {
    {"unc", "UNC", &UnifiedSize::unc},
    {"unf", "UNF", &UnifiedSize::unf},
    {"unef", "UNEF", &UnifiedSize::unef},
    {"un", "UN", &UnifiedSize::un8},
};

const UnifiedSize* find_size(double value, bool numbered) {
    const auto sizes = unified_sizes();
    const std::string name = numbered ? fmt::format("#{}", print_number(value)) : std::string();
    const auto found = std::find_if(sizes.begin(), sizes.end(), [&](const UnifiedSize& s) {
        return numbered ? s.name == name : !s.name.starts_with('#') && equal(s.diameter_in, value);
    });
    return found == sizes.end() ? nullptr : &*found;
}

const UnifiedSeries* find_series(const UnifiedSize* size, double per_inch) {
    const auto* const found =
        std::find_if(std::begin(unified_series), std::end(unified_series),
                     [&](const UnifiedSeries& s) { return size && equal(size->*s.per_inch, per_inch); });
    return found == std::end(unified_series) ? nullptr : found;
}

Reading<Thread> unified_thread(InchSize size, std::optional<double> per_inch, std::string_view suffix,
                               std::string_view text) {
    const auto* const stated = std::find_if(std::begin(unified_series), std::end(unified_series),
                                            [&](const UnifiedSeries& s) { return s.suffix == suffix; });
    const bool has_series = stated != std::end(unified_series) && suffix != "un"; // "un" and "uns" name no single pitch
    const UnifiedSize* entry = find_size(size.value, size.numbered);
    if (size.bare) {
        // "10-32" is a number size and "1-8" an inch: the threads per inch tell them apart.
        const UnifiedSize* const number_size = find_size(size.value, true);
        const double n = per_inch ? *per_inch : number_size && has_series ? number_size->*stated->per_inch : 0;
        if (!find_series(entry, n) && find_series(number_size, n) && (per_inch || !entry)) {
            entry = number_size;
        } else if (!find_series(entry, n) && (number_size || !entry) && !(per_inch && *per_inch <= 20 && entry)) {
            return wrong(fmt::format("{} may mean a number size or inches.", quoted(text)),
                         "Write \"#\" before a number size (\"#10-32\"), \"in\" after inches (\"1 in-14\").");
        }
    }
    if (!per_inch && !has_series) {
        return wrong(fmt::format("{} does not say how many threads an inch has.", quoted(text)),
                     "Write them, like \"3/8-16\", or the series, like \"3/8 UNC\"; a pipe thread as \"G 3/8\" or "
                     "\"NPT 3/8\".");
    }
    if (!entry && (size.numbered || size.value <= 0 || size.value > largest_inch)) {
        return no_thread(text);
    }
    if (has_series) {
        const double listed = entry ? entry->*stated->per_inch : 0;
        if (listed == 0) {
            return wrong(fmt::format("{} stands for a size that {} does not have.", quoted(text), stated->name),
                         "Check the size, or write the threads per inch without the series, like \"3/8-16\".");
        }
        if (per_inch && !equal(*per_inch, listed)) {
            return wrong(fmt::format("{} contradicts itself: {} {} has {} threads per inch.", quoted(text), entry->name,
                                     stated->name, print_number(listed)),
                         fmt::format("Write \"{}-{} {}\" or \"{}-{}\", whichever is right.", entry->name,
                                     print_number(listed), stated->name, entry->name, print_number(*per_inch)));
        }
        per_inch = listed;
    }
    if (*per_inch < 3 || *per_inch > 120) {
        return wrong(fmt::format("In {} there would be {} threads per inch.", quoted(text), print_number(*per_inch)),
                     "Write the thread like \"3/8-16\", and a length in \"length_mm\".");
    }
    const UnifiedSeries* const series = find_series(entry, *per_inch);
    Thread thread;
    thread.form = ThreadForm::unified;
    thread.series = series ? ThreadSeries::unified : ThreadSeries::unlisted;
    thread.diameter_mm = (entry ? entry->diameter_in : size.value) * mm_per_inch;
    thread.pitch_mm = mm_per_inch / *per_inch;
    const std::string name = entry ? std::string(entry->name) : print_inches(size.value);
    const bool whole = std::all_of(name.begin(), name.end(), is_digit); // "1-14" might be a number size
    thread.name = fmt::format("{}{}-{}{}{}", name, whole && !series ? " in" : "", print_number(*per_inch, figures),
                              series ? " " : "", series ? series->name : std::string_view());
    return thread;
}

// ------------------------------------------------------------------------------------------------------------- pipe

struct PipeKind {
    std::string_view word, name, standard;
};
constexpr PipeKind pipe_kinds[] = {
    {"g", "G", "ISO 228-1"}, {"r", "R", "ISO 7-1"},          {"rc", "Rc", "ISO 7-1"},
    {"rp", "Rp", "ISO 7-1"}, {"npt", "NPT", "ASME B1.20.1"},
};

const PipeKind* find_pipe_kind(std::string_view word) {
    const auto* const found =
        std::find_if(std::begin(pipe_kinds), std::end(pipe_kinds), [&](const PipeKind& k) { return k.word == word; });
    return found == std::end(pipe_kinds) ? nullptr : found;
}

Reading<Thread> pipe_thread(const PipeKind& kind, InchSize size, std::optional<double> per_inch,
                            std::string_view text) {
    const auto sizes = kind.word == "npt" ? npt_sizes() : whitworth_pipe_sizes();
    const auto found = std::find_if(sizes.begin(), sizes.end(), [&](const PipeSize& s) {
        return equal(s.size_in, size.value) && (kind.word == "g" || !s.parallel_only);
    });
    if (size.numbered || found == sizes.end()) {
        return wrong(fmt::format("{} is no size that {} lists up to 2 in.", quoted(text), kind.standard),
                     "Check the size; pipe threads are named after the bore, not after their diameter.");
    }
    if (per_inch && !equal(*per_inch, found->per_inch)) {
        return wrong(fmt::format("{} contradicts itself: {} {} has {} threads per inch.", quoted(text), kind.name,
                                 found->name, print_number(found->per_inch)),
                     fmt::format("Write \"{} {}\".", kind.name, found->name));
    }
    Thread thread;
    thread.form = ThreadForm::pipe;
    thread.series = ThreadSeries::pipe;
    thread.diameter_mm = found->diameter_mm;
    thread.pitch_mm = mm_per_inch / found->per_inch;
    thread.name = fmt::format("{} {}", kind.name, found->name);
    return thread;
}

/// The suffix without the "r" of a rounded root (UNRC is UNC with one).
std::string_view unified_suffix(std::string_view word) {
    return word == "unrc" ? "unc" : word == "unrf" ? "unf" : word == "unref" ? "unef" : word == "unr" ? "un" : word;
}

bool is_unified_suffix(std::string_view word) {
    return word == "unc" || word == "unf" || word == "unef" || word == "un" || word == "uns";
}

std::optional<Mistake> foreign(std::string_view word, std::string_view text) {
    if (word == "bsp" || word == "bspp" || word == "bspt") {
        return Mistake{fmt::format("{} is written in the older way.", quoted(text)),
                       "Write a parallel one like \"G 3/8\" (ISO 228-1), a tapered one like \"R 3/8\" (ISO 7-1)."};
    }
    if (word == "bsw" || word == "bsf" || word == "w" || word == "ba" || word == "tr" || word == "pg" || word == "st" ||
        word == "nptf" || word == "mj") {
        return Mistake{fmt::format("{} is a kind of thread of which no table is kept here.", quoted(text)),
                       "Leave the key out and say the thread in \"note\"."};
    }
    return std::nullopt;
}

Reading<Thread> read_inch(std::string_view prefix, std::string_view rest, std::string_view text) {
    const Reading<InchSize> size = take_inch_size(rest);
    if (!size) {
        return tl::unexpected(size.error());
    }
    const Reading<std::optional<double>> per_inch = take_per_inch(rest);
    if (!per_inch) {
        return tl::unexpected(per_inch.error());
    }
    std::string_view ahead = rest;
    skip_blanks(ahead);
    take(ahead, "-");
    skip_blanks(ahead);
    std::string_view word = unified_suffix(take_word(ahead));
    const PipeKind* pipe = find_pipe_kind(prefix);
    if (std::optional<Mistake> mistake = foreign(word, text)) {
        return tl::unexpected(*std::move(mistake));
    }
    if (prefix.empty() && (is_unified_suffix(word) || word == "npt")) {
        rest = ahead;
        pipe = find_pipe_kind(word);
    } else if (pipe && pipe->word == "g" && (word == "a" || word == "b")) { // ISO 228-1's classes
        rest = ahead;
    } else {
        word = prefix;
    }
    if (!pipe) {
        take_class(rest, "ab");
    }
    if (std::optional<Mistake> mistake = leftover(rest, text)) {
        return tl::unexpected(*std::move(mistake));
    }
    return pipe ? pipe_thread(*pipe, *size, *per_inch, text) : unified_thread(*size, *per_inch, word, text);
}

} // namespace

Reading<Thread> read_thread(std::string_view text) {
    std::string plain_text = plain(text);
    std::replace(plain_text.begin(), plain_text.end(), '*', 'x');
    std::string_view rest = plain_text;
    const std::string_view prefix = unified_suffix(take_word(rest));
    if (std::optional<Mistake> mistake = foreign(prefix, text)) {
        return tl::unexpected(*std::move(mistake));
    }
    skip_blanks(rest);
    if (!number_ahead(rest) && !rest.starts_with('#')) {
        return no_thread(text);
    }
    if (prefix == "m") {
        return read_metric(rest, text);
    }
    if (prefix.empty() || find_pipe_kind(prefix) || is_unified_suffix(prefix)) {
        return read_inch(prefix, rest, text);
    }
    return no_thread(text);
}

} // namespace boltwalk
