#include "sheets/area_plan.hpp"

#include "base/number_text.hpp"

#include <algorithm>
#include <cmath>

namespace stopspan {
namespace {

constexpr std::size_t most_parts = 24;

MachineNumbers numbers_of(const Description &description, AreaId area) {
    MachineNumbers numbers;
    for (const Machine &machine : description.machines())
        if (machine.area == area)
            numbers.emplace(machine.name, static_cast<int>(numbers.size()) + 1);
    return numbers;
}

// Equal parts, each small enough for a sheet, from the left and from the top.
std::vector<FloorPart> parts_of_floor(const FloorPart &all, int scale) {
    const auto [width_m, height_m] = floor_on_a_sheet(scale);
    const auto count = [](double length, double most) {
        return std::max(1, static_cast<int>(std::ceil(length / most)));
    };
    const int across = count(all.right - all.left, width_m), down = count(all.top - all.bottom, height_m);
    const double x_m = (all.right - all.left) / across, y_m = (all.top - all.bottom) / down;
    std::vector<FloorPart> parts;
    for (int j = 0; j < down; ++j)
        for (int i = 0; i < across; ++i)
            parts.push_back({all.left + i * x_m, all.bottom + (down - 1 - j) * y_m,
                             i + 1 == across ? all.right : all.left + (i + 1) * x_m,
                             j == 0 ? all.top : all.bottom + (down - j) * y_m});
    return parts;
}

struct Attempt {
    std::vector<AreaPlan> plans;
    bool whole_sheet = false, numbered = false;
    std::size_t crowded = 0;
    void add(AreaPlan plan) {
        crowded += plan.crowded;
        plans.push_back(std::move(plan));
    }
};

// As a drafting office would, from the plainest to what takes most paper: names beside the list of stops, names on a
// sheet of their own, numbers and a list, parts at a larger scale. The first on which all is in its place, else the
// best.
class Attempts {
public:
    Attempts(const Description &description, AreaId area, const MachineNumbers &numbers, const PlanReach &reach)
        : description_(description), area_(area), numbers_(numbers), reach_(reach),
          all_(floor_around(description[area])) {}

    Attempt best() {
        if (try_one({}) || try_one({.whole_sheet = true}) || try_one({.whole_sheet = true, .numbers = &numbers_}))
            return std::move(best_);
        for (int scale = plan_scale(all_.right - all_.left, all_.top - all_.bottom, true);
             (scale = larger_plan_scale(scale)) != 0;)
            if (const auto parts = parts_of_floor(all_, scale); parts.size() > most_parts || try_parts(parts, scale))
                break;
        return std::move(best_);
    }

private:
    bool try_one(const PlanStyle &style) {
        Attempt attempt{{}, style.whole_sheet, style.numbers != nullptr, 0};
        attempt.add(draw_area_plan(description_, area_, all_, style, reach_, ""));
        return take(std::move(attempt));
    }

    bool try_parts(const std::vector<FloorPart> &parts, int scale) {
        Attempt attempt{{}, true, true, 0};
        attempt.add(draw_division(description_, area_, parts));
        for (std::size_t i = 0; i < parts.size(); ++i) {
            const auto from_to = [](double from, double to) {
                return format_fixed(from, 1) + " to " + format_fixed(to, 1) + " m";
            };
            attempt.add(draw_area_plan(
                description_, area_, parts[i], {.whole_sheet = true, .numbers = &numbers_, .scale = scale}, reach_,
                "Part " + std::to_string(i + 1) + ": x " + from_to(parts[i].left, parts[i].right) + ", y " +
                    from_to(parts[i].bottom, parts[i].top) + "."));
        }
        return take(std::move(attempt));
    }

    bool take(Attempt attempt) {
        const bool good = attempt.crowded == 0;
        if (best_.plans.empty() || attempt.crowded < best_.crowded)
            best_ = std::move(attempt);
        return good;
    }

    const Description &description_;
    AreaId area_;
    const MachineNumbers &numbers_;
    const PlanReach &reach_;
    const FloorPart all_;
    Attempt best_;
};

} // namespace

std::vector<SpecialSheet> plan_sheets(const Description &description, const Verdict &verdict) {
    std::vector<SpecialSheet> sheets;
    const PlanReach reach(description, verdict);
    const ReachList list(description, reach);
    const auto areas = description.areas();
    for (std::uint32_t i = 0; i < areas.size(); ++i) {
        if (areas[i].outline.size() < 3)
            continue;
        const MachineNumbers numbers = numbers_of(description, {i});
        Attempt best = Attempts(description, {i}, numbers, reach).best();
        const std::string title = best.plans.back().page.sheet.title;
        std::vector<std::string> unnamed;
        for (AreaPlan &plan : best.plans) {
            sheets.push_back(std::move(plan.page));
            unnamed.insert(unnamed.end(), plan.unnamed.begin(), plan.unnamed.end());
        }
        const std::string lists = best.numbered      ? " (machines and stops)"
                                  : best.whole_sheet ? " (stops)"
                                                     : " (stops, continued)";
        ListFlow flow(sheets, title + lists);
        if (best.numbered)
            write_machine_list(description, {i}, numbers, flow);
        list.write({i}, best.numbered ? numbers : MachineNumbers{}, flow, !best.whole_sheet);
        write_walks(description, {i}, verdict.walks, flow);
        write_unnamed(unnamed, flow);
    }
    return sheets;
}

} // namespace stopspan
