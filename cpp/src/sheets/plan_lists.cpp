#include "sheets/plan_lists.hpp"

#include "base/number_text.hpp"
#include "sheets/sheet_pen.hpp"

#include <algorithm>
#include <utility>

namespace stopspan {
namespace {

constexpr double kind_column_mm = 17.5, letter_column_mm = 47.5, stop_column_mm = 60, walked_stop_column_mm = 60,
                 row_mm = 4.5; // from the left of the list
constexpr double number_column_mm = 12.5, column_step_mm = plan_list_width_mm + 7.5;
constexpr std::size_t columns = 3;

// "1 to 3, 5" of 1, 2, 3, 5.
std::vector<std::string> ranges(std::vector<int> numbers) {
    std::sort(numbers.begin(), numbers.end());
    std::vector<std::string> words;
    for (std::size_t i = 0; i < numbers.size();) {
        std::size_t last = i;
        while (last + 1 < numbers.size() && numbers[last + 1] == numbers[last] + 1)
            ++last;
        const std::string first = std::to_string(numbers[i]);
        words.push_back(last > i + 1 ? first + " to " + std::to_string(numbers[last]) : first);
        i = last > i + 1 ? last + 1 : i + 1;
    }
    return words;
}

// Words in lines, with a comma after each but the last; lines break between words where they can.
std::vector<std::string> in_lines(const std::vector<std::string> &words, double width_mm) {
    std::vector<std::string> lines{""};
    for (std::size_t i = 0; i < words.size(); ++i) {
        const std::string word = words[i] + (i + 1 < words.size() ? ", " : "");
        if (!lines.back().empty() && text_width_mm(lines.back() + word, small_text_mm) > width_mm)
            lines.emplace_back();
        const std::vector<std::string> pieces = wrapped(lines.back() + word, small_text_mm, width_mm);
        lines.back() = pieces.front();
        lines.insert(lines.end(), pieces.begin() + 1, pieces.end());
        if (word.ends_with(' '))
            lines.back() += ' ';
    }
    return lines;
}

} // namespace

void ListFlow::begin_beside_plan(Heading heading) {
    heading_ = std::move(heading);
    column_ = columns; // the next one is on a new sheet
    x_ = plan_list_left_mm;
    y_ = heading_(sheets_.back().sheet, x_, content_top_mm);
}

void ListFlow::begin(Heading heading) {
    heading_ = std::move(heading);
    next_column();
}

void ListFlow::begin_below(Heading heading) {
    constexpr double heading_and_a_row_mm = 4 * row_mm;
    heading_ = std::move(heading);
    if (y_ - heading_and_a_row_mm < content_bottom_mm)
        return next_column();
    y_ = heading_(sheets_.back().sheet, x_, y_ - row_mm);
}

void ListFlow::next_column() {
    if (!own_sheet_ || ++column_ >= columns) {
        sheets_.emplace_back(title_, "Plan");
        own_sheet_ = true;
        column_ = 0;
    }
    x_ = content_left_mm + column_step_mm * static_cast<double>(column_);
    y_ = heading_(sheets_.back().sheet, x_, content_top_mm);
}

ListFlow::Row ListFlow::row() {
    if (y_ - row_mm < content_bottom_mm)
        next_column();
    y_ -= row_mm;
    return {sheets_.back().sheet, x_, y_};
}

double ReachList::heading(Sheet &sheet, double x, double top) const {
    const double y = top - row_mm;
    SheetPen(sheet, Layer::designations)
        .text({x, y}, small_text_mm, "Stop")
        .text({x + kind_column_mm, y}, small_text_mm, "kind")
        .text({x + letter_column_mm, y}, small_text_mm, "reach")
        .text({x + stop_column_mm, y}, small_text_mm,
              reach_.as_found() ? "cuts, as found in the circuit" : "asked to cut")
        .line({x, y - 1.5}, {x + plan_list_width_mm, y - 1.5});
    return y - 2;
}

void ReachList::write(AreaId area, const MachineNumbers &numbers, ListFlow &flow, bool beside_plan) const {
    const auto heading_here = [this](Sheet &sheet, double x, double top) { return heading(sheet, x, top); };
    if (beside_plan)
        flow.begin_beside_plan(heading_here);
    else
        flow.begin(heading_here);
    bool none = true;
    for (const StopDevice &stop : description_.stops()) {
        if (stop.area != area)
            continue;
        none = false;
        const std::vector<std::string> lines = lines_of(stop, numbers);
        std::vector<std::string> names = wrapped(stop.name, small_text_mm, plan_list_width_mm);
        if (names.size() == 1 && text_width_mm(stop.name, small_text_mm) <= kind_column_mm - 2)
            names.clear(); // it stands beside its kind, a longer one above it
        for (std::size_t i = 0; i < names.size() + lines.size(); ++i) {
            const ListFlow::Row row = flow.row();
            SheetPen pen(row.sheet, Layer::designations);
            if (i < names.size()) {
                pen.text({row.x_mm, row.y_mm}, small_text_mm, names[i]);
                continue;
            }
            if (i == names.size())
                pen.text({row.x_mm, row.y_mm}, small_text_mm, names.empty() ? stop.name : "")
                    .text({row.x_mm + kind_column_mm, row.y_mm}, small_text_mm, std::string(to_text(stop.kind)))
                    .text({row.x_mm + letter_column_mm, row.y_mm}, small_text_mm, reach_.letter(stop.name));
            pen.text({row.x_mm + stop_column_mm, row.y_mm}, small_text_mm, lines[i - names.size()]);
        }
    }
    if (none) {
        const ListFlow::Row row = flow.row();
        SheetPen(row.sheet, Layer::designations)
            .text({row.x_mm, row.y_mm}, small_text_mm, "No stop device stands in this area.");
    }
}

std::vector<std::string> ReachList::lines_of(const StopDevice &stop, const MachineNumbers &numbers) const {
    const std::vector<PlanReach::Machine> &reached_by_it = reach_.of(stop.name);
    if (reached_by_it.empty())
        return {"nothing"};
    std::vector<int> plain;
    std::vector<std::string> others;
    for (const PlanReach::Machine &reached : reached_by_it) {
        const auto number = numbers.find(reached.name);
        if (number != numbers.end() && reached.remark.empty())
            plain.push_back(number->second);
        else
            others.push_back((number == numbers.end() ? reached.name : std::to_string(number->second)) +
                             reached.remark);
    }
    std::vector<std::string> words = ranges(std::move(plain));
    words.insert(words.end(), others.begin(), others.end());
    return in_lines(words, plan_list_width_mm - stop_column_mm);
}

void write_machine_list(const Description &description, AreaId area, const MachineNumbers &numbers, ListFlow &flow) {
    flow.begin([](Sheet &sheet, double x, double top) {
        const double y = top - row_mm;
        SheetPen(sheet, Layer::designations)
            .text({x, y}, small_text_mm, "No.")
            .text({x + number_column_mm, y}, small_text_mm, "machine (its isolator)")
            .line({x, y - 1.5}, {x + plan_list_width_mm, y - 1.5});
        return y - 2;
    });
    for (const Machine &machine : description.machines()) {
        if (machine.area != area)
            continue;
        std::string number = std::to_string(numbers.at(machine.name));
        const std::string words = machine.name + (machine.isolator.empty() ? "" : " (" + machine.isolator + ")");
        for (std::string &line : wrapped(words, small_text_mm, plan_list_width_mm - number_column_mm)) {
            const ListFlow::Row row = flow.row();
            SheetPen(row.sheet, Layer::designations)
                .text({row.x_mm, row.y_mm}, small_text_mm, std::exchange(number, ""))
                .text({row.x_mm + number_column_mm, row.y_mm}, small_text_mm, std::move(line));
        }
    }
}

void write_walks(const Description &description, AreaId area, const std::vector<Walk> &walks, ListFlow &flow) {
    const auto is_here = [&](const Walk &walk) {
        return walk.area.empty() ? description[description.machine(walk.start)].area == area
                                 : walk.area == description[area].name;
    };
    bool begun = false;
    for (const Walk &walk : walks) {
        if (!is_here(walk))
            continue;
        if (!std::exchange(begun, true))
            flow.begin_below([](Sheet &sheet, double x, double top) {
                const double y = top - row_mm;
                SheetPen(sheet, Layer::designations)
                    .text({x, y}, small_text_mm, "Way on foot from")
                    .text({x + walked_stop_column_mm, y}, small_text_mm, "to the nearest stop that cuts")
                    .text({x + plan_list_width_mm, y}, small_text_mm, "m", Align::right)
                    .line({x, y - 1.5}, {x + plan_list_width_mm, y - 1.5});
                return y - 2;
            });
        constexpr double gap_mm = 2, distance_column_mm = 12;
        const std::vector<std::string> from = wrapped(walk.start, small_text_mm, walked_stop_column_mm - gap_mm),
                                       to = wrapped(walk.stop, small_text_mm,
                                                    plan_list_width_mm - walked_stop_column_mm - distance_column_mm);
        for (std::size_t i = 0; i < std::max(from.size(), to.size()); ++i) {
            const ListFlow::Row row = flow.row();
            SheetPen pen(row.sheet, Layer::designations);
            if (i < from.size())
                pen.text({row.x_mm, row.y_mm}, small_text_mm, from[i]);
            if (i < to.size())
                pen.text({row.x_mm + walked_stop_column_mm, row.y_mm}, small_text_mm, to[i]);
            if (i == 0)
                pen.text({row.x_mm + plan_list_width_mm, row.y_mm}, small_text_mm, format_decimals(walk.distance_m, 1),
                         Align::right);
        }
    }
}

void write_unnamed(const std::vector<std::string> &names, ListFlow &flow) {
    if (names.empty())
        return;
    flow.begin([](Sheet &sheet, double x, double top) {
        SheetPen(sheet, Layer::designations)
            .text({x, top - row_mm}, small_text_mm, "No room on the plan for the names of")
            .line({x, top - row_mm - 1.5}, {x + plan_list_width_mm, top - row_mm - 1.5});
        return top - row_mm - 2;
    });
    for (const std::string &line : in_lines(names, plan_list_width_mm)) {
        const ListFlow::Row row = flow.row();
        SheetPen(row.sheet, Layer::designations).text({row.x_mm, row.y_mm}, small_text_mm, line);
    }
}

} // namespace stopspan
