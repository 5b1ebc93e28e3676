#include "ratings/part_lives.hpp"

#include "base/number_text.hpp"
#include "ratings/reliability.hpp"

namespace stopspan::ratings {
namespace {

constexpr double switched_on_per_year = 365; // once a day, assumed

} // namespace

bool PartLives::well_tried(std::uint32_t device) const {
    return ground_.device(device).flag("well_tried", false);
}

std::optional<double> PartLives::operations_per_year(std::uint32_t device) {
    return often(device).per_year;
}

// A button that stops its machine in normal use does so once a cycle.
PartLives::Often PartLives::often_of_stop(std::uint32_t device) {
    const Device &part = ground_.device(device);
    const std::string machine(stopspan::machine_of(part));
    if (part.kind == DeviceKind::push_button && !ground_.stop(part.designation) && ground_.machine(machine))
        return cycles_of(machine, device);
    ground_.unknown(part.designation, "operations_per_year",
                    "how long it lasts, for the performance level of its stops");
    return {};
}

// Of a machine that is not described the part itself must say it.
PartLives::Often PartLives::cycles_of(const std::string &name, std::uint32_t device) {
    const Machine *machine = ground_.machine(name);
    const auto missing = [&](const char *field) {
        ground_.unknown(name, field, "how often its contactors work, for the performance level of its stops");
        return Often{};
    };
    if (!machine) {
        ground_.unknown(ground_.device(device).designation, "operations_per_year",
                        "how long it lasts, for the performance level of its stops");
        return {};
    }
    for (const auto &[field, value] : {std::pair{"days_per_year", machine->days_per_year},
                                       {"hours_per_day", machine->hours_per_day},
                                       {"cycle_time_s", machine->cycle_time_s}})
        if (!value)
            return missing(field);
    return {ratings::operations_per_year(*machine->days_per_year, *machine->hours_per_day, *machine->cycle_time_s),
            "days x hours x 3600 / cycle",
            {{"days_per_year", *machine->days_per_year, "", Origin::plan, name},
             {"hours_per_day", *machine->hours_per_day, "h", Origin::plan, name},
             {"cycle_time_s", *machine->cycle_time_s, "s", Origin::plan, name}}};
}

// What a machine's start acts on works once a cycle; what only stops and resets act on, as often as these stops are
// used and power comes on.
PartLives::Often PartLives::often(std::uint32_t device) {
    if (const auto known = often_.find(device); known != often_.end())
        return known->second;
    const Device &part = ground_.device(device);
    Often &found = often_[device];
    if (part.number("operations_per_year")) {
        const SizeInput said = from_device(part, "operations_per_year", "");
        return found = {said.value, "as said", {said}};
    }
    if (is_actuator(part.kind))
        return found = often_of_stop(device);
    const auto moved = functions_.moved_by.find(device);
    if (moved == functions_.moved_by.end())
        return found;
    Often all{0, "", {}};
    const auto add = [&](const Often &more, const std::string &formula) {
        if (!more.per_year)
            all.per_year.reset();
        if (all.per_year)
            *all.per_year += *more.per_year;
        if (all.formula.find(formula) == std::string::npos)
            all.formula += (all.formula.empty() ? "" : " + ") + formula;
        all.inputs.insert(all.inputs.end(), more.inputs.begin(), more.inputs.end());
    };
    if (moved->second.starts_of.empty()) {
        for (const std::uint32_t stop : moved->second.stops) {
            const std::uint32_t its = context_.compiled.variables[context_.stops[stop].variable].device;
            const Often used = often(its);
            add({used.per_year,
                 {},
                 {computed("operations", used.per_year.value_or(0), "", ground_.device(its).designation)}},
                "operations of its stops");
        }
        add({switched_on_per_year, {}, {assumed("switched on", switched_on_per_year, "", "power comes on once a day")}},
            "switched on");
    } else {
        for (const std::uint32_t machine : moved->second.starts_of) {
            const Often cycles = cycles_of(functions_.machines[machine], device);
            add(cycles, cycles.formula);
        }
    }
    return often_[device] = std::move(all);
}

std::optional<double> PartLives::mttfd_years(std::uint32_t device) {
    const auto [known, fresh] = known_.try_emplace(device);
    if (fresh)
        known->second = find(device);
    return known->second;
}

std::optional<double> PartLives::find(std::uint32_t device) {
    const Device &part = ground_.device(device);
    const auto typical = typical_b10d(part.kind, well_tried(device));
    std::optional<SizeInput> b10d;
    std::string source = "ISO 13849-1:2015 annex C";
    if (part.number("b10d_cycles")) {
        b10d = from_device(part, "b10d_cycles", "");
    } else if (typical) {
        b10d = SizeInput{"b10d_cycles", typical->cycles, "", Origin::table, "typical " + std::string(typical->of)};
        source += "; typical value: " + std::string(typical->source);
    } else {
        ground_.unknown(part.designation, "b10d_cycles",
                        part.kind == DeviceKind::guard_switch
                            ? "how long it lasts; the typical value is for direct opening (well_tried)"
                            : "how long it lasts, for the performance level of its stops");
    }
    const Often worked = often(device);
    if (!b10d || !worked.per_year)
        return std::nullopt;
    const double years = mttfd_from_b10d_years(b10d->value, *worked.per_year);
    Size size{.subject = part.designation,
              .quantity = "MTTFd",
              .value = years,
              .unit = "years",
              .formula = "B10d / (0.1 n), n = " + worked.formula,
              .inputs = {*b10d},
              .source = source};
    size.inputs.insert(size.inputs.end(), worked.inputs.begin(), worked.inputs.end());
    if (worked.inputs.size() > 1)
        size.inputs.push_back(computed("n", *worked.per_year, "", part.designation));
    if (const double replaced = replaced_after_years(b10d->value, *worked.per_year); replaced < 20)
        size.remark = "Replace it after " + format_fixed(replaced, 1) + " years (T10d = B10d / n).";
    ground_.add(std::move(size));
    return years;
}

} // namespace stopspan::ratings
