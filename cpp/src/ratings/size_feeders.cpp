#include "base/number_text.hpp"
#include "ratings/cable_check.hpp"
#include "ratings/conductor.hpp"
#include "ratings/conductor_tables.hpp"
#include "ratings/draws.hpp"

#include <cmath>

namespace stopspan::ratings {
namespace {

constexpr double usual_power_factor = 0.8; // of several motors together; no source

struct Spot {
    AreaId area;
    Position at;
};

/// The cable that brings power to a board, to the isolator of an area or to a machine.
struct Feeder {
    std::string subject, quantity, to;
    std::optional<Spot> from_at{}, to_at{};
    const Machine *machine = nullptr;
    std::vector<const Draw *> behind{};
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
                feeders_.push_back({area.isolator, "cable size to the isolator", "isolator of " + area.name});
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
        for (const Feeder &feeder : feeders_)
            size(feeder);
    }

private:
    static constexpr std::size_t none_ = SIZE_MAX;

    std::size_t add_board(const Board &board) {
        Feeder made{board.name, "cable size to the board", "board " + board.name};
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
            Feeder made{machine.name, "cable size to the machine", machine.name};
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

    void size(const Feeder &feeder) {
        if (feeder.behind.empty())
            return;
        Size size{.subject = feeder.subject,
                  .quantity = feeder.quantity,
                  .unit = "mm2",
                  .source = std::string(machine_cable_source) + "; D.1, D.2 (from memory)"};
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
        size.formula = length ? "smallest that carries the sum I of each line, and drops no more than allowed"
                              : "smallest that carries the sum I of each line; its length is unknown";
        size.inputs.insert(size.inputs.end(), {ambient, grouping});
        if (length) {
            size.inputs.push_back(*length);
            size.inputs.push_back(assumed("power factor", usual_power_factor, "", "several motors"));
        } else {
            ground_.unknown(feeder.subject, "length of the cable to it", "what it drops");
        }
        const bool three_phase = on_line.size() > 1;
        const double to_percent = 100 / (usual_to_earth_v * (three_phase ? std::sqrt(3.0) : 1));
        for (const double csa_mm2 : conductor_sizes_mm2()) {
            const auto ampacity_a = machine_ampacity_a(csa_mm2, method, ambient.value, grouping.value);
            const double drop_percent =
                length ? to_percent * voltage_drop_v(three_phase, current_a, length->value, csa_mm2, usual_power_factor)
                       : 0;
            const std::string reason = !ampacity_a                        ? "the tables have no ampacity for it"
                                       : csa_mm2 < smallest_power_csa_mm2 ? "too thin for a power circuit"
                                       : *ampacity_a < current_a
                                           ? "carries " + amperes(*ampacity_a) + ", " + amperes(current_a) + " wanted"
                                       : drop_percent > ground_.options.running_drop_percent
                                           ? "drops " + format_fixed(drop_percent, 1) + " %, " +
                                                 format_number(ground_.options.running_drop_percent) + " % allowed"
                                           : "";
            if (reason.empty()) {
                size.value = csa_mm2;
                size.choice = format_number(csa_mm2) + " mm2, " + method;
                size.remark = "It carries " + amperes(*ampacity_a) +
                              ": what stands ahead of it should let no more through. Control circuits are not in the "
                              "sum, and whether it withstands a short circuit is not worked out.";
                break;
            }
            size.rejected.push_back({format_number(csa_mm2) + " mm2", reason});
        }
        if (size.value <= 0)
            size.remark = "No size up to 120 mm2 does: feed it by several cables, or by a busbar.";
        ground_.add(std::move(size));
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
