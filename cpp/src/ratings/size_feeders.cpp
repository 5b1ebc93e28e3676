#include "base/number_text.hpp"
#include "installation/cable_way.hpp"
#include "ratings/branch.hpp"
#include "ratings/cable_check.hpp"
#include "ratings/conductor.hpp"
#include "ratings/conductor_tables.hpp"
#include "ratings/draws.hpp"
#include "ratings/fault_loop.hpp"
#include "ratings/protection.hpp"

#include <cmath>
#include <utility>

namespace stopspan::ratings {
namespace {

constexpr double usual_power_factor = 0.8; // of several motors together; no source
constexpr double selective_ratio = 1.6;    // of gG fuses in series, IEC 60269-1 (from memory)

struct Spot {
    AreaId area;
    Position at;
};

/// The cable that brings power to a board, to the isolator of an area or to a machine.
struct Feeder {
    std::string subject, where, to; ///< "D1", "the board", "board D1"
    std::optional<Spot> from_at{}, to_at{};
    const Machine *machine = nullptr;
    std::vector<const Draw *> behind{};
    std::optional<std::vector<CableAhead>> up_to_end{}; ///< once it is sized
    bool sized = false;
};

/// Feeders as the description has them, one hanging on another.
class Feeding {
public:
    Feeding(Ground &ground, const std::vector<Draw> &draws) : ground_(ground), description_(ground.description) {
        for (std::uint32_t i = 0; i < description_.boards().size(); ++i)
            boards_.push_back(add_board(description_.boards()[i]));
        for (std::uint32_t i = 0; i < description_.areas().size(); ++i)
            areas_.push_back(std::nullopt);
        for (std::uint32_t i = 0; i < description_.areas().size(); ++i)
            if (const Area &area = description_.areas()[i]; !area.isolator.empty()) {
                areas_[i] = feeders_.size();
                feeders_.push_back({area.isolator, "the isolator", "isolator of " + area.name});
                feeders_.back().to_at = Spot{{i}, area.isolator_at};
                hangs_on_.push_back(none_);
            }
        for (std::uint32_t i = 0; i < areas_.size(); ++i)
            if (areas_[i])
                hang(*areas_[i], above(description_.areas()[i].within), description_.board_of(AreaId{i}));
        for (const Draw &draw : draws)
            put(draw);
    }

    void size() {
        for (std::size_t i = 0; i < feeders_.size(); ++i)
            size_behind_others(i);
        for (const std::size_t board : boards_)
            ground_.up_to_board.push_back(feeders_[board].up_to_end);
    }

private:
    static constexpr std::size_t none_ = SIZE_MAX;

    std::size_t add_board(const Board &board) {
        Feeder made{board.name, "the board", "board " + board.name};
        if (board.area)
            made.to_at = Spot{*board.area, board.at};
        feeders_.push_back(std::move(made));
        hangs_on_.push_back(none_);
        hang(feeders_.size() - 1, std::nullopt, board.fed_from);
        return feeders_.size() - 1;
    }

    // A board is fed from one that was described before.
    void hang(std::size_t feeder, std::optional<std::size_t> area, std::optional<BoardId> board) {
        if (area || board)
            hangs_on_[feeder] = area ? *area : boards_.at(board->value);
        if (hangs_on_[feeder] != none_)
            feeders_[feeder].from_at = feeders_[hangs_on_[feeder]].to_at;
    }

    std::optional<std::size_t> above(std::optional<AreaId> area) const {
        for (; area; area = description_[*area].within)
            if (areas_[area->value])
                return areas_[area->value];
        return std::nullopt;
    }

    void put(const Draw &draw) {
        std::size_t at = none_;
        if (draw.path) {
            if (const Machine *machine = ground_.machine_of_path(*draw.path))
                at = of_machine(*machine);
        } else if (const std::string &name = ground_.device(draw.device).designation; description_.is_load(name)) {
            // Ahead of all that a stop or an isolator of an area cuts.
            const KeptLoad &load = description_[description_.load(name)];
            if (const auto board = load.board ? load.board : description_.board_of(load.area))
                at = boards_.at(board->value);
        }
        if (const Device &device = ground_.device(draw.device);
            at == none_ && draw.from_mains && device.kind == DeviceKind::load && !boards_.empty())
            ground_.unknown(device.designation, "what board feeds it", "it is in the sum of no cable");
        for (; at != none_; at = hangs_on_[at])
            feeders_[at].behind.push_back(&draw);
    }

    std::size_t of_machine(const Machine &machine) {
        const auto [entry, fresh] = machines_.try_emplace(&machine, feeders_.size());
        if (fresh) {
            Feeder made{machine.name, "the machine", machine.name};
            if (machine.at)
                made.to_at = Spot{machine.area, *machine.at};
            made.machine = &machine;
            feeders_.push_back(std::move(made));
            hangs_on_.push_back(none_);
            hang(entry->second, machine.board ? std::nullopt : above(machine.area), description_.board_of(machine));
        }
        return entry->second;
    }

    std::optional<SizeInput> length_of(const Feeder &feeder) const {
        if (feeder.machine && feeder.machine->cable_length_m)
            return SizeInput{"cable length", *feeder.machine->cable_length_m, "m", Origin::plan, feeder.subject};
        if (!feeder.from_at || !feeder.to_at)
            return std::nullopt;
        const auto way_m =
            ground_.way_m(feeder.from_at->area, feeder.from_at->at, feeder.to_at->area, feeder.to_at->at);
        return way_m ? std::optional(SizeInput{"cable length", *way_m, "m", Origin::plan,
                                               "along the walls, 2 m down at either end (assumed)"})
                     : std::nullopt;
    }

    // Fault loops go through what it hangs on.
    void size_behind_others(std::size_t i) {
        if (std::exchange(feeders_[i].sized, true))
            return;
        if (hangs_on_[i] != none_)
            size_behind_others(hangs_on_[i]);
        const bool begins = hangs_on_[i] == none_;
        const auto ahead = begins ? std::optional(std::vector<CableAhead>()) : feeders_[hangs_on_[i]].up_to_end;
        size(feeders_[i], mains_of(i), ahead, begins);
        if (feeders_[i].machine)
            ground_.ahead.emplace(feeders_[i].machine, feeders_[i].up_to_end);
    }

    // Its mains in the circuit, or null.
    const Device *mains_of(std::size_t i) const {
        while (hangs_on_[i] != none_)
            i = hangs_on_[i];
        const auto board = std::ranges::find(boards_, i);
        if (board == boards_.end())
            return nullptr;
        const BoardId id{static_cast<std::uint32_t>(board - boards_.begin())};
        const auto mains = ground_.circuit.find(description_[description_.supply_of(id)].name);
        return mains ? &ground_.circuit.device(*mains) : nullptr;
    }

    // The largest start beside the others.
    ProtectionNeed need_of(const Feeder &feeder, double current_a) const {
        ProtectionNeed need{current_a, current_a, 0, std::nullopt};
        for (const Draw *draw : feeder.behind)
            if (draw->path) {
                const MotorSizes &motor = ground_.motors[*draw->path];
                need.start_a = std::max(need.start_a, current_a + motor.start_a - motor.rated_a);
                need.start_s = std::max(need.start_s, motor.start_s);
            }
        return need;
    }

    // What stands ahead of a feeder is in no description.
    std::optional<double> fuse_ahead_a(const Feeder &feeder, const ProtectionNeed &need) {
        double behind_a = 0;
        for (const Draw *draw : feeder.behind) {
            if (draw->path)
                behind_a = std::max(behind_a, branch_of(ground_, *draw->path).rating_a);
            for (const std::uint32_t fuse : draw->fuses)
                behind_a = std::max(behind_a, ground_.device(fuse).number("rating_a").value_or(0));
        }
        Size size{.subject = feeder.subject,
                  .quantity = "fuse ahead of the cable to " + feeder.where,
                  .unit = "A",
                  .formula =
                      "smallest that carries sum I for good and the largest start beside the others, no less than "
                      "what stands behind it",
                  .inputs = {computed("most on one line", need.running_a, "A", feeder.to),
                             computed("largest current while one starts", need.start_a, "A", "motors behind it"),
                             computed("starting time", need.start_s, "s", "motors behind it"),
                             computed("largest protection behind it", behind_a, "A", feeder.to)},
                  .source = "IEC 60269-1 gates of gG fuses; selective from 1.6 to 1 (both from memory)",
                  .remark = "gG is assumed. It is for short circuits: against overload stand the relays and fuses "
                            "behind the cable."};
        for (const double rating_a : protection_sizes_a("gG")) {
            const std::string candidate = "gG " + format_number(rating_a) + " A",
                              reason = why_not(need, "gG", rating_a);
            if (reason.empty() && rating_a >= behind_a) {
                size.value = rating_a;
                size.choice = candidate;
                if (rating_a < selective_ratio * behind_a)
                    add_remark(size, "A short circuit behind " + amperes(behind_a) + " may blow this one, too.");
                break;
            }
            size.rejected.push_back({candidate, reason.empty() ? "less than what stands behind it" : reason});
        }
        if (size.value <= 0)
            size.remark = "None of the sizes known here does.";
        const double chosen_a = size.value;
        ground_.add(std::move(size));
        return chosen_a > 0 ? std::optional(chosen_a) : std::nullopt;
    }

    /// @param begins  it comes straight from the supply: where its length is unknown the supply stands at its end
    void size(Feeder &feeder, const Device *mains, const std::optional<std::vector<CableAhead>> &ahead, bool begins) {
        if (feeder.behind.empty())
            return;
        Size size{.subject = feeder.subject,
                  .quantity = "cable size to " + feeder.where,
                  .unit = "mm2",
                  .source = std::string(machine_cable_source) + "; D.1, D.2 (from memory); IEC 60364-4-41; "
                                                                "IEC 60364-4-43"};
        std::map<std::uint32_t, double> on_line;
        for (const Draw *draw : feeder.behind) {
            const std::string &name = ground_.device(draw->device).designation;
            if (!draw->known || !draw->from_mains) {
                ground_.unknown(name, draw->known ? "what its supply takes" : "current_a",
                                "the cable to " + feeder.to + " is not sized");
                return;
            }
            for (const std::uint32_t line : draw->lines)
                on_line[line] += draw->summed.value;
            size.inputs.push_back(draw->summed);
        }
        double current_a = 0;
        for (const auto &[line, sum_a] : on_line)
            current_a = std::max(current_a, sum_a);
        size.inputs.push_back(computed("most on one line", current_a, "A", feeder.to));
        const bool plan = feeder.machine != nullptr;
        const std::string method(plan && feeder.machine->cable_method ? to_text(*feeder.machine->cable_method) : "B2");
        if (!plan || !feeder.machine->cable_method)
            ground_.unknown(feeder.subject, plan ? "cable_method" : "method of the cable to it",
                            "its ampacity is that of method B2, cable in a conduit");
        const SizeInput ambient =
            plan && feeder.machine->ambient_c
                ? SizeInput{"ambient", *feeder.machine->ambient_c, "degC", Origin::plan, feeder.subject}
                : assumed("ambient", ground_.options.ambient_c, "degC", "of the whole call");
        const SizeInput grouping =
            plan && feeder.machine->cable_grouping
                ? SizeInput{"grouped circuits", static_cast<double>(*feeder.machine->cable_grouping), "", Origin::plan,
                            feeder.subject}
                : assumed("grouped circuits", 1, "", "alone in its conduit");
        const std::optional<SizeInput> length = length_of(feeder);
        size.formula =
            length ? (feeder.machine
                          ? "smallest that carries the sum I of each line, drops no more than what is left "
                          : "smallest that carries the sum I of each line, drops no more than half of what is left ") +
                         std::string("of the allowed drop, disconnects in time and withstands the short circuit")
                   : "smallest that carries the sum I of each line; its length is unknown";
        size.inputs.insert(size.inputs.end(), {ambient, grouping});
        if (length) {
            size.inputs.push_back(*length);
            size.inputs.push_back(assumed("power factor", usual_power_factor, "", "several motors"));
        } else {
            ground_.unknown(feeder.subject, "length of the cable to it",
                            begins ? "what it drops; the supply's impedance is taken for that up to its end"
                                   : "what it drops, and fault loops behind it");
        }
        const ProtectionNeed need = need_of(feeder, current_a);
        const std::optional<double> fuse_a = fuse_ahead_a(feeder, need);
        const auto said = [&](std::string_view name) { return mains ? mains->number(name) : std::nullopt; };
        CableCase cable{.three_phase = on_line.size() > 1,
                        .to_earth_v = said("voltage_v").value_or(usual_to_earth_v),
                        .running_a = current_a,
                        .start_a = need.start_a,
                        .must_carry_a = current_a,
                        .power_factor = usual_power_factor,
                        .length_m = length ? std::optional(length->value) : std::nullopt,
                        .method = method,
                        .ambient_c = ambient.value,
                        .grouping = grouping.value,
                        .source_ohm = said("impedance_ohm").value_or(ground_.options.source_impedance_ohm),
                        .protection_a = ahead ? fuse_a.value_or(0) : 0,
                        .distribution = true,
                        .running_drop_percent = ground_.options.running_drop_percent,
                        .starting_drop_percent = ground_.options.starting_drop_percent};
        if (ahead)
            add_what_is_ahead(*ahead, need, cable);
        if (!feeder.machine)
            leave_some_drop(cable);
        if (cable.protection_a > 0)
            size.inputs.push_back(computed("fuse ahead of it", cable.protection_a, "A", feeder.subject));
        if (length && ahead) {
            size.inputs.push_back(computed("fault loop ahead of it", cable.source_ohm, "ohm", feeder.subject));
            size.inputs.push_back(computed("lost ahead of it", cable.feeder_running_v, "V", feeder.subject));
        }
        for (const double csa_mm2 : conductor_sizes_mm2()) {
            const CableJudged it = judge_cable(cable, csa_mm2);
            std::string reasons = reasons_in_power_circuit(it);
            if (reasons.empty() && feeder.machine && length && ahead)
                reasons = too_thin_for_motors(feeder, cable, it);
            if (reasons.empty()) {
                size.value = csa_mm2;
                size.choice = format_number(csa_mm2) + " mm2, " + method;
                size.remark = "It carries " + amperes(*it.ampacity_a) + ". Control circuits are not in the sum.";
                if (!cable.length_m || cable.protection_a <= 0)
                    size.remark += " Whether a fault at its end is cleared, and whether it withstands a short circuit, "
                                   "is not worked out.";
                else
                    tell_fault(feeder, it, cable.protection_a);
                if (ahead && (length || (begins && !feeder.machine))) {
                    feeder.up_to_end = ahead;
                    if (length)
                        feeder.up_to_end->push_back({length->value, csa_mm2, current_a, cable.three_phase});
                }
                break;
            }
            size.rejected.push_back({format_number(csa_mm2) + " mm2", reasons});
        }
        if (size.value <= 0)
            size.remark = "No size up to 120 mm2 does: feed it by several cables, or by a busbar.";
        ground_.add(std::move(size));
    }

    static void add_what_is_ahead(const std::vector<CableAhead> &ahead, const ProtectionNeed &need, CableCase &cable) {
        for (const CableAhead &one : ahead) {
            cable.source_ohm += loop_impedance_ohm(0, one.length_m, one.csa_mm2);
            cable.feeder_running_v += lost_ahead_v(one, one.running_a, usual_power_factor, cable.three_phase);
            cable.feeder_starting_v +=
                lost_ahead_v(one, one.running_a + need.start_a - need.running_a, start_power_factor, cable.three_phase);
        }
    }

    // Cables hang on it that must drop something, too: half of what is left is for them (assumed).
    static void leave_some_drop(CableCase &cable) {
        const double to_percent = 100 / (cable.to_earth_v * (cable.three_phase ? std::sqrt(3.0) : 1));
        cable.running_drop_percent = (cable.running_drop_percent + to_percent * cable.feeder_running_v) / 2;
        cable.starting_drop_percent = (cable.starting_drop_percent + to_percent * cable.feeder_starting_v) / 2;
    }

    // The fuses of its motors must clear a fault at their ends, with cables there of the same size.
    std::string too_thin_for_motors(const Feeder &feeder, const CableCase &cable, const CableJudged &it) const {
        for (const Draw *draw : feeder.behind) {
            if (!draw->path)
                continue;
            const Branch branch = branch_of(ground_, *draw->path);
            const CableJudged behind = judge_cable({.three_phase = cable.three_phase,
                                                    .to_earth_v = cable.to_earth_v,
                                                    .length_m = cable_way_m({}, {}),
                                                    .method = cable.method,
                                                    .source_ohm = it.loop_ohm,
                                                    .protection_type = branch.type,
                                                    .protection_a = branch.rating_a},
                                                   it.csa_mm2);
            if (!behind.reasons.empty())
                return "at " + ground_.device(draw->device).designation + " " + behind.reasons.front();
        }
        return {};
    }

    void tell_fault(const Feeder &feeder, const CableJudged &it, double fuse_a) {
        const SizeInput fuse = computed("fuse ahead of it", fuse_a, "A", feeder.subject);
        const auto add = [&](const std::string &quantity, double value, std::string unit, std::string formula,
                             std::vector<SizeInput> inputs, std::string source) {
            ground_.add({.subject = feeder.subject,
                         .quantity = quantity + " of the cable to " + feeder.where,
                         .value = value,
                         .unit = std::move(unit),
                         .formula = std::move(formula),
                         .inputs = std::move(inputs),
                         .source = std::move(source)});
        };
        add("earth-fault current at the end", it.fault_a, "A", "0.95 U0 / Zs",
            {computed("fault loop", it.loop_ohm, "ohm", feeder.subject)}, "BS 7671 411.4.4 (factor 0.95)");
        add("disconnection time", *it.clears_s, "s", "between the gates of the fuse", {fuse},
            "IEC 60364-4-41 411.3.2.3, 5 s; gates: IEC 60269-1 (from memory)");
        add("short-circuit withstand size", it.withstand_mm2, "mm2", "sqrt(I2t) / 115", {fuse},
            "IEC 60364-4-43 (k of copper in PVC, from memory)");
    }

    Ground &ground_;
    const Description &description_;
    std::vector<Feeder> feeders_;
    std::vector<std::size_t> hangs_on_; ///< per feeder
    std::vector<std::size_t> boards_;
    std::vector<std::optional<std::size_t>> areas_;
    std::map<const Machine *, std::size_t> machines_;
};

} // namespace

void size_feeders(Ground &ground, const std::vector<Draw> &draws) {
    Feeding(ground, draws).size();
}

} // namespace stopspan::ratings
