#include "checks/compare_text.hpp"

#include <algorithm>
#include <map>
#include <set>
#include <utility>

namespace stopspan {
namespace {

using Key = std::pair<std::string, std::string>; // stop, machine

// Names in the order of the matrix.
std::vector<std::string> names(const Verdict &verdict, std::string MatrixCell::*which) {
    std::vector<std::string> list;
    std::set<std::string_view> seen;
    for (const MatrixCell &cell : verdict.matrix)
        if (seen.insert(cell.*which).second)
            list.push_back(cell.*which);
    return list;
}

std::vector<std::string> without(std::vector<std::string> list, const std::vector<std::string> &others) {
    const std::set<std::string_view> known(others.begin(), others.end());
    std::erase_if(list, [&](const std::string &name) { return known.contains(name); });
    return list;
}

bool alike(const MatrixCell &a, const MatrixCell &b) {
    if (a.asked != b.asked || a.found != b.found)
        return false;
    for (const auto &[mode, found] : a.modes) // a mode that came or went comes with its machine's wiring
        if (const auto other = b.modes.find(mode); other != b.modes.end() && other->second != found)
            return false;
    return true;
}

void compare_names(const Verdict &before, const Verdict &now, Comparison &comparison) {
    const auto old_stops = names(before, &MatrixCell::stop), stops = names(now, &MatrixCell::stop);
    const auto old_machines = names(before, &MatrixCell::machine), machines = names(now, &MatrixCell::machine);
    comparison.new_stops = without(stops, old_stops);
    comparison.gone_stops = without(old_stops, stops);
    comparison.new_machines = without(machines, old_machines);
    comparison.gone_machines = without(old_machines, machines);
}

void compare_cells(const Verdict &before, const Verdict &now, Comparison &comparison) {
    std::set<std::string_view> stops(comparison.new_stops.begin(), comparison.new_stops.end()),
        machines(comparison.new_machines.begin(), comparison.new_machines.end());
    stops.insert(comparison.gone_stops.begin(), comparison.gone_stops.end());
    machines.insert(comparison.gone_machines.begin(), comparison.gone_machines.end());
    const auto in_both = [&](const MatrixCell &cell) {
        return !stops.contains(cell.stop) && !machines.contains(cell.machine);
    };
    // A large matrix leaves out what is free and spared.
    const auto left_out = [](const MatrixCell &cell) {
        return MatrixCell{
            .stop = cell.stop, .machine = cell.machine, .asked = Asked::free, .found = Found::spares, .modes = {}};
    };
    std::map<Key, const MatrixCell *> old;
    for (const MatrixCell &cell : before.matrix)
        if (in_both(cell))
            old.emplace(Key(cell.stop, cell.machine), &cell);
    for (const MatrixCell &cell : now.matrix) {
        if (!in_both(cell))
            continue;
        const auto found = old.find(Key(cell.stop, cell.machine));
        const MatrixCell was = found == old.end() ? left_out(cell) : *found->second;
        if (found != old.end())
            old.erase(found);
        if (!alike(was, cell))
            comparison.cells.push_back({was, cell});
    }
    for (const MatrixCell &cell : before.matrix)
        if (old.contains(Key(cell.stop, cell.machine)) && !alike(cell, left_out(cell)))
            comparison.cells.push_back({cell, left_out(cell)});
}

void compare_findings(const Verdict &before, const Verdict &now, Comparison &comparison) {
    const auto key_of = [](const Finding &finding) {
        std::pair<std::string, std::vector<std::string>> key(finding.rule, finding.subjects);
        std::sort(key.second.begin(), key.second.end());
        return key;
    };
    using FindingKey = decltype(key_of(Finding()));
    std::map<FindingKey, std::vector<const Finding *>> old;
    for (const Finding &finding : before.findings)
        if (went_by(now, finding.rule))
            old[key_of(finding)].push_back(&finding);
    // Of several about the same subjects those that stayed as they were are told apart from the others first.
    const auto same = [](const Finding &a, const Finding &b) { return a.status == b.status && a.text == b.text; };
    std::vector<const Finding *> left;
    for (const Finding &finding : now.findings) {
        if (!went_by(before, finding.rule))
            continue;
        std::vector<const Finding *> &were = old[key_of(finding)];
        const auto stayed =
            std::find_if(were.begin(), were.end(), [&](const Finding *was) { return same(*was, finding); });
        if (stayed == were.end())
            left.push_back(&finding);
        else
            were.erase(stayed);
    }
    for (const Finding *finding : left) {
        std::vector<const Finding *> &were = old[key_of(*finding)];
        FindingChange change{std::nullopt, *finding};
        if (!were.empty()) {
            change.before = *were.front();
            were.erase(were.begin());
        }
        comparison.findings.push_back(std::move(change));
    }
    for (const Finding &finding : before.findings)
        if (went_by(now, finding.rule)) {
            std::vector<const Finding *> &gone = old[key_of(finding)];
            if (std::find(gone.begin(), gone.end(), &finding) != gone.end())
                comparison.findings.push_back({finding, std::nullopt});
        }
}

} // namespace

Comparison compare(const Compared &before, const Compared &now, Comparison names) {
    Comparison comparison = std::move(names);
    if (has_matrix(before.verdict) && has_matrix(now.verdict))
        compare_cells(before.verdict, now.verdict, comparison);
    compare_findings(before.verdict, now.verdict, comparison);
    comparison.sentences = sentences_of(comparison, before, now);
    return comparison;
}

Comparison compare(const Verdict &before, const Verdict &now) {
    Comparison names;
    if (has_matrix(before) && has_matrix(now))
        compare_names(before, now, names);
    return compare({before, before.ok()}, {now, now.ok()}, std::move(names));
}

} // namespace stopspan
