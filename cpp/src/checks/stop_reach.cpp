#include "checks/stop_reach.hpp"

#include "base/number_text.hpp"
#include "base/words.hpp"
#include "installation/outline.hpp"
#include "installation/walks.hpp"

#include <algorithm>
#include <cmath>
#include <unordered_map>

namespace stopspan {
namespace {

const std::string stop_reach_rule = "stop-reach";

/// Stop devices of the description that cut a machine, or may.
struct Cutting {
    std::vector<StopId> surely, maybe;
    bool asked = false;         ///< somebody asks for a stop
    bool asked_of_area = false; ///< for one that stands on no machine
};

/// How far it is to a stop that cuts, and what that is worth.
struct Judged {
    Status status = Status::note; ///< it holds
    std::string stop;             ///< the nearest that surely cuts; empty: no way leads to one
    double distance_m = 0;
    std::string remark; ///< about others that may do
};

class StopReach {
public:
    StopReach(const Description &plan, const std::function<double(std::string_view)> &limit,
              const std::vector<MatrixCell> &matrix)
        : limit_(limit), plan_(plan), walks_(plan_, limit("passage_narrowest_m")), cutting_(plan_.machines().size()) {
        std::unordered_map<std::string_view, std::uint32_t> stops, machines;
        for (std::uint32_t i = 0; i < plan_.stops().size(); ++i)
            if (plan_.stops()[i].kind != DeviceKind::guard_switch)
                stops.emplace(plan_.stops()[i].name, i);
        for (std::uint32_t i = 0; i < plan_.machines().size(); ++i)
            machines.emplace(plan_.machines()[i].name, i);
        for (const MatrixCell &cell : matrix) {
            const auto stop = stops.find(cell.stop);
            const auto machine = machines.find(cell.machine);
            if (stop == stops.end() || machine == machines.end())
                continue;
            Cutting &cutting = cutting_[machine->second];
            if (cell.found == Found::cuts)
                cutting.surely.push_back({stop->second});
            else if (cell.found == Found::maybe)
                cutting.maybe.push_back({stop->second});
            cutting.asked |= cell.asked == Asked::cut;
            cutting.asked_of_area |= cell.asked == Asked::cut && plan_.stops()[stop->second].place != Place::machine;
        }
    }

    Decided decide() {
        if (has_places()) {
            machines();
            exits();
        } else {
            decided_.not_checked.push_back(
                "stop-reach, walking distances: there is no plan, as no machine or no stop device has a place");
        }
        heights();
        return std::move(decided_);
    }

private:
    bool has_places() const {
        return std::any_of(plan_.machines().begin(), plan_.machines().end(),
                           [](const Machine &machine) { return machine.at.has_value(); }) &&
               std::any_of(plan_.stops().begin(), plan_.stops().end(),
                           [&](const StopDevice &stop) { return plan_.place_of(stop).has_value(); });
    }

    void add(Status status, std::vector<std::string> subjects, std::string text) {
        decided_.add(
            {.rule = stop_reach_rule, .status = status, .subjects = std::move(subjects), .text = std::move(text)});
    }

    // ------------------------------------------------------------------------------------ walks

    std::optional<Walks::Nearest> nearest(const Spot &from, const std::vector<StopId> &stops) {
        std::vector<Spot> places;
        std::vector<std::size_t> index;
        for (std::size_t i = 0; i < stops.size(); ++i)
            if (const auto at = plan_.place_of(plan_[stops[i]])) {
                places.push_back({plan_[stops[i]].area, *at});
                index.push_back(i);
            }
        auto found = walks_.nearest(from, places);
        if (found)
            found->index = index[found->index];
        return found;
    }

    Judged judge(const Spot &from, const Cutting &cutting, double limit_m) {
        const auto near_enough = [&](const auto &way) { return way->distance_m <= limit_m + outline_tolerance_m; };
        Judged judged;
        if (const auto way = nearest(from, cutting.surely)) {
            judged.stop = plan_[cutting.surely[way->index]].name;
            judged.distance_m = way->distance_m;
            if (near_enough(way))
                return judged;
        }
        judged.status = Status::fails;
        std::vector<std::string> placeless;
        for (const StopId stop : cutting.surely)
            if (!plan_.place_of(plan_[stop]))
                placeless.push_back(plan_[stop].name);
        if (const auto way = nearest(from, cutting.maybe); way && near_enough(way)) {
            judged.status = Status::maybe;
            judged.remark = " " + plan_[cutting.maybe[way->index]].name + ", " + metres(way->distance_m) +
                            " away, may cut it or not.";
        } else if (!placeless.empty()) {
            judged.status = Status::undecided;
            judged.remark = " " + listed_in_short(placeless) +
                            (placeless.size() == 1 ? " cuts it, too, but has" : " cut it, too, but have") +
                            " no place on the plan: give x_m and y_m.";
        }
        return judged;
    }

    std::string sentence(const std::string &from, const std::vector<std::string> &cut, const Judged &judged,
                         double limit_m) const {
        const std::string machines = listed_in_short(cut);
        if (judged.stop.empty())
            return "From " + from + " no way on the plan leads to a stop that surely cuts " + machines + "." +
                   judged.remark;
        return "From " + from + " it is " + beyond(judged.distance_m, limit_m) + " to walk to " + judged.stop +
               ", the nearest stop that cuts " + machines + "; at most " + format_number(limit_m) + " m is allowed." +
               judged.remark;
    }

    bool accessible(const Spot &spot, const std::vector<std::string> &subjects, const std::string &what) {
        if (walks_.accessible(spot))
            return true;
        add(Status::undecided, subjects,
            "Nobody can walk up to " + what + " at " + format_fixed(spot.at.x_m, 3) + ", " +
                format_fixed(spot.at.y_m, 3) +
                " m: on the plan it stands in an obstacle or in a gap too narrow to walk through; correct the plan.");
        return false;
    }

    void machines() {
        const double limit_m = limit_("machine_walk_longest_m");
        std::vector<std::string> placeless, not_asked;
        for (std::uint32_t i = 0; i < plan_.machines().size(); ++i) {
            const Machine &machine = plan_.machines()[i];
            if (!cutting_[i].asked) {
                not_asked.push_back(machine.name);
                continue;
            }
            if (!machine.at) {
                placeless.push_back(machine.name);
                continue;
            }
            const Spot from{machine.area, *machine.at};
            if (!accessible(from, {machine.name}, machine.name))
                continue;
            const Judged judged = judge(from, cutting_[i], limit_m);
            if (!judged.stop.empty())
                decided_.walks.push_back({machine.name, "", machine.name, judged.stop, judged.distance_m});
            std::vector<std::string> subjects{machine.name};
            if (!judged.stop.empty())
                subjects.insert(subjects.begin(), judged.stop);
            if (judged.status == Status::note)
                decided_.count(stop_reach_rule, "holds");
            else
                add(judged.status, std::move(subjects), sentence(machine.name, {"it"}, judged, limit_m));
        }
        if (!placeless.empty())
            add(Status::undecided, placeless,
                listed_in_short(placeless) + (placeless.size() == 1 ? " has" : " have") +
                    " no place on the plan, so nobody knows the way to a stop: give x_m and y_m.");
        if (!not_asked.empty())
            decided_.not_checked.push_back("stop-reach, walking distances: no stop device is asked to cut " +
                                           listed_in_short(not_asked));
    }

    // The area whose exits lead out of where a machine stands: inner areas without exits lie open to the outer ones.
    std::vector<std::vector<std::uint32_t>> machines_by_way_out() const {
        std::vector<std::vector<std::uint32_t>> machines(plan_.areas().size());
        for (std::uint32_t i = 0; i < plan_.machines().size(); ++i) {
            AreaId area = plan_.machines()[i].area;
            while (plan_[area].exits.empty() && plan_[area].within)
                area = *plan_[area].within;
            if (cutting_[i].asked_of_area)
                machines[area.value].push_back(i);
        }
        return machines;
    }

    void exits() {
        const double limit_m = limit_("exit_walk_longest_m");
        std::vector<std::string> without;
        const auto machines = machines_by_way_out();
        for (std::uint32_t a = 0; a < machines.size(); ++a) {
            if (machines[a].empty())
                continue;
            if (plan_.areas()[a].exits.empty())
                without.push_back(plan_.areas()[a].name);
            for (const Exit &exit : plan_.areas()[a].exits)
                from_exit({a}, exit, machines[a], limit_m);
        }
        if (!without.empty())
            decided_.not_checked.push_back("stop-reach, from exits: no exit is on the plan of " +
                                           listed_in_short(without));
    }

    // One claim; where it fails, a finding for each nearest stop that is too far.
    void from_exit(AreaId area, const Exit &exit, const std::vector<std::uint32_t> &machines, double limit_m) {
        const std::string &area_name = plan_[area].name, name = "exit " + exit.name + " of " + area_name;
        const Spot from{area, exit.at};
        if (!accessible(from, {area_name, exit.name}, name))
            return;
        struct Group {
            Judged judged;
            std::vector<std::string> machines;
        };
        std::vector<Group> groups;
        Walk longest{exit.name, area_name, "", "", -1};
        for (const std::uint32_t i : machines) {
            const Judged judged = judge(from, cutting_[i], limit_m);
            const std::string &machine = plan_.machines()[i].name;
            if (!judged.stop.empty() && judged.distance_m > longest.distance_m)
                longest = {exit.name, area_name, machine, judged.stop, judged.distance_m};
            if (judged.status == Status::note)
                continue;
            const auto alike = std::find_if(groups.begin(), groups.end(), [&](const Group &group) {
                return group.judged.status == judged.status && group.judged.stop == judged.stop &&
                       group.judged.remark == judged.remark;
            });
            if (alike == groups.end())
                groups.push_back({judged, {machine}});
            else
                alike->machines.push_back(machine);
        }
        if (!longest.stop.empty())
            decided_.walks.push_back(longest);
        if (groups.empty())
            decided_.count(stop_reach_rule, "holds");
        for (const Group &group : groups) {
            std::vector<std::string> subjects{area_name, exit.name};
            if (!group.judged.stop.empty())
                subjects.push_back(group.judged.stop);
            subjects.insert(subjects.end(), group.machines.begin(), group.machines.end());
            add(group.judged.status, std::move(subjects), sentence(name, group.machines, group.judged, limit_m));
        }
    }

    // ------------------------------------------------------------------------------------ heights

    void heights() {
        const double lowest_m = limit_("stop_height_lowest_m");
        const double highest_m = limit_("stop_height_highest_m");
        std::vector<std::string> unknown;
        bool known = false;
        for (const StopDevice &stop : plan_.stops()) {
            const bool by_foot =
                stop.kind == DeviceKind::pedal || stop.kind == DeviceKind::floor_bar || stop.place == Place::floor;
            if (by_foot || stop.kind == DeviceKind::guard_switch)
                continue;
            if (!stop.height_m) {
                unknown.push_back(stop.name);
                continue;
            }
            known = true;
            if (*stop.height_m >= lowest_m && *stop.height_m <= highest_m)
                decided_.count(stop_reach_rule, "holds");
            else
                add(Status::fails, {stop.name},
                    "The actuator of " + stop.name + " is " + format_number(*stop.height_m) + " m above the floor; " +
                        format_number(lowest_m) + " m to " + format_number(highest_m) + " m is allowed.");
        }
        if (unknown.empty())
            return;
        if (known)
            add(Status::undecided, unknown,
                "The height of " + listed_in_short(unknown) + " above the floor is not known: give height_m.");
        else
            decided_.not_checked.push_back("stop-reach, heights: no stop device worked by hand has a height_m");
    }

    static std::string metres(double distance_m) { return format_decimals(distance_m, 1) + " m"; }
    // What is too far by less than a digit shows is not written as if it were near enough.
    static std::string beyond(double distance_m, double limit_m) {
        const double rounded_m = std::round(distance_m * 10) / 10;
        return metres(rounded_m > limit_m || distance_m <= limit_m ? rounded_m : std::floor(limit_m * 10) / 10 + 0.1);
    }

    const std::function<double(std::string_view)> &limit_;
    const Description &plan_;
    Walks walks_;
    std::vector<Cutting> cutting_; ///< per machine
    Decided decided_;
};

} // namespace

Decided decide_stop_reach(const Description *plan, const std::function<double(std::string_view)> &limit,
                          const std::vector<MatrixCell> &matrix) {
    if (plan && !plan->stops().empty() && !plan->machines().empty())
        return StopReach(*plan, limit, matrix).decide();
    Decided decided;
    decided.not_checked.push_back("rule " + stop_reach_rule + ": there is no plan with machines and stop devices");
    return decided;
}

} // namespace stopspan
