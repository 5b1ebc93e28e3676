#include "checks/control_line.hpp"

#include "base/number_text.hpp"
#include "checks/count_again.hpp"

#include <algorithm>
#include <map>

namespace stopspan {
namespace {

std::string percent(double ratio) {
    constexpr double resonance = 1; // beyond the full voltage the figure says no more than "held"
    return ratio > resonance ? "all" : format_fixed(ratio * 100, 0) + " %";
}

class Weighing {
public:
    Weighing(const Context &context, const std::vector<MachineSeen> &machines, Verdict &verdict)
        : context_(context), machines_(machines), verdict_(verdict),
          pulls_in_(context.limit("coil_volts_lowest_percent") / 100),
          stays_in_(context.limit("coil_volts_left_ac_percent") / 100) {}

    void weigh(const ControlLine &line) {
        bool held = true; // what was said of the coil so far: one claim, however many stops put it in doubt
        if (line.pull_in < pulls_in_)
            doubt("coil-volts", std::exchange(held, false), {line.coil},
                  "The coil of " + line.coil + " may get no more than " + percent(line.pull_in) +
                      " of its rated voltage to pull in, along " + line.along + "; below " + percent(pulls_in_) +
                      " it need not, and chatters.");
        const auto device = context_.circuit.find(line.coil);
        for (const ControlLine::Stop &stop : line.stops)
            if (device && !(stop.left < stays_in_)) {
                const std::string keeps = "After " + stop.name + " the capacitance of its cable may keep " +
                                          percent(stop.left) + " of the rated voltage on the coil of " + line.coil +
                                          " (" + stop.by + ")";
                doubt("coil-volts", std::exchange(held, false), {stop.name, line.coil},
                      keeps + ": it need not drop out.");
                for (const MachineSeen &machine : machines_)
                    doubt_cut(stop.name, machine, static_cast<std::uint32_t>(device->value), keeps);
            }
    }

private:
    void doubt_cut(const std::string &stop, const MachineSeen &machine, std::uint32_t device,
                   const std::string &keeps) {
        const auto of_coil = [&](std::uint32_t armature) {
            return context_.compiled.armatures[armature].device == device;
        };
        if (std::none_of(machine.reach.armatures.begin(), machine.reach.armatures.end(), of_coil))
            return;
        if (cells_.empty())
            for (MatrixCell &each : verdict_.matrix)
                cells_.emplace(std::pair(std::string_view(each.stop), std::string_view(each.machine)), &each);
        const auto entry = cells_.find({stop, machine.name});
        if (entry == cells_.end() || entry->second->found != Found::cuts)
            return;
        MatrixCell &cell = *entry->second;
        cell.found = Found::maybe;
        for (auto &[mode, found] : cell.modes)
            if (found == Found::cuts)
                found = Found::maybe;
        if (cell.asked == Asked::cut)
            doubt("stop-cuts", true, {stop, machine.name},
                  stop + " perhaps does not stop " + machine.name + ". " + keeps + ".");
    }

    void doubt(const std::string &rule, bool held, std::vector<std::string> subjects, std::string text) {
        if (!context_.wants(rule))
            return;
        const std::string maybe(to_text(Status::maybe));
        if (auto &counts = verdict_.counts[rule]; held && counts.contains("holds"))
            count_again(verdict_, rule, "holds", maybe);
        else
            ++counts[maybe];
        verdict_.findings.push_back(
            {.rule = rule, .status = Status::maybe, .subjects = std::move(subjects), .text = std::move(text)});
    }

    const Context &context_;
    const std::vector<MachineSeen> &machines_;
    Verdict &verdict_;
    std::map<std::pair<std::string_view, std::string_view>, MatrixCell *> cells_; ///< by stop and machine
    double pulls_in_, stays_in_;
};

} // namespace

void weigh_control_lines(const Context &context, const std::vector<MachineSeen> &machines, Verdict &verdict) {
    Weighing weighing(context, machines, verdict);
    for (const ControlLine &line : context.options.control_lines)
        weighing.weigh(line);
}

} // namespace stopspan
