// Keys of parts, and of tasks.

#include "core/map/setting.hpp"

#include <fmt/format.h>

namespace boltwalk {

namespace {

constexpr double heaviest_part_kg = 100000;
constexpr double most_litres = 100000;

/// "true", "yes", "1" and their contraries say only whether; any other text says how, too.
void set_adjust(const Setting& setting, Part& part) {
    if (const Reading<bool> yes_no = yes_no_value(setting.json(), setting.token)) {
        part.adjust = *yes_no;
        return;
    }
    setting.text(part.adjust_note);
    part.adjust = !part.adjust_note.empty();
}

void set_aside(const Setting& setting, Part& part) {
    setting.text(part.aside);
    if (const Reading<std::vector<Leg>> legs = read_legs(part.aside)) {
        part.aside_legs = *legs;
    }
}

void set_lower(const Setting& setting, Part& part) {
    const Reading<double> length = length_value(setting.json(), setting.token);
    if (length && !(*length > 0 && *length <= longest_leg_mm)) {
        setting.report("unreadable-value", Weight::fault,
                       {"It should be a length of more than 0 mm and at most 100 m.", "Correct the length."},
                       "It is read as not stated.");
    } else if (!length) {
        setting.report("wrong-unit", Weight::fault, length.error(), "It is read as not stated.");
    } else {
        part.lower_mm = *length;
    }
}

} // namespace

void set_part(const Setting& setting, Part& part) {
    const Json& json = setting.json();
    switch (setting.key) {
    case KeyId::fixed:
        setting.take(yes_no_value(json, setting.token), part.fixed);
        break;
    case KeyId::renew:
        setting.take(yes_no_value(json, setting.token), part.renew);
        break;
    case KeyId::transfer:
        setting.take(yes_no_value(json, setting.token), part.transfer);
        break;
    case KeyId::road_wheel:
        setting.take(yes_no_value(json, setting.token), part.road_wheel);
        break;
    case KeyId::flexible:
        setting.take(yes_no_value(json, setting.token), part.flexible);
        break;
    case KeyId::adjust:
        set_adjust(setting, part);
        break;
    case KeyId::mass_kg:
        setting.positive(part.mass_kg, heaviest_part_kg);
        break;
    case KeyId::material:
        setting.word(part.material);
        break;
    case KeyId::amount_l:
        setting.positive(part.amount_l, most_litres);
        break;
    case KeyId::way:
        setting.take(read_text(setting, read_legs), part.way);
        break;
    case KeyId::lower:
        set_lower(setting, part);
        break;
    case KeyId::aside:
        set_aside(setting, part);
        break;
    case KeyId::support:
        setting.take(choices_value(json, setting.token, key_of(KeyId::support)), part.support);
        break;
    case KeyId::turns: {
        const Reading<std::array<double, 3>> axis = axis_value(json, setting.token);
        if (axis && json.is(setting.token, JsonKind::array)) {
            part.turns = fmt::format("{} {} {}", (*axis)[0], (*axis)[1], (*axis)[2]);
        } else if (axis) {
            setting.text(part.turns);
        } else {
            setting.report("unreadable-value", Weight::fault, axis.error(), "It is read as not stated.");
        }
        break;
    }
    case KeyId::hang_from:
        setting.text(part.hang_from);
        break;
    case KeyId::lift_point:
        setting.text(part.lift_point);
        break;
    case KeyId::loaded:
        setting.text(part.loaded);
        break;
    case KeyId::fluid:
        setting.text(part.fluid);
        break;
    default:
        break;
    }
}

void set_task(const Setting& setting, Task& task) {
    switch (setting.key) {
    case KeyId::when:
        setting.choice(task.when);
        break;
    case KeyId::gate:
        setting.take(yes_no_value(setting.json(), setting.token), task.gate);
        break;
    case KeyId::does:
        setting.choice(task.does, 1);
        break;
    case KeyId::sets:
        setting.take(read_text(setting, read_vehicle), task.sets);
        break;
    default:
        break;
    }
}

} // namespace boltwalk
