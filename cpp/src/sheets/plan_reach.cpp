#include "sheets/plan_reach.hpp"

namespace stopspan {
namespace {

// A, B ... Z, AA, AB ...
std::string letter_of(std::size_t number) {
    std::string letters;
    for (++number; number > 0; number = (number - 1) / 26)
        letters.insert(letters.begin(), static_cast<char>('A' + (number - 1) % 26));
    return letters;
}

} // namespace

PlanReach::PlanReach(const Description &description, const Verdict &verdict) : as_found_(!verdict.matrix.empty()) {
    for (const MatrixCell &cell : verdict.matrix)
        if (cell.found != Found::spares || cell.asked == Asked::cut)
            reach_[cell.stop].push_back({cell.machine, cell.found == Found::cuts    ? ""
                                                       : cell.found == Found::maybe ? " (maybe)"
                                                                                    : " (NOT CUT)"});
    if (!as_found_)
        for (const AskedCell &cell : description.asked())
            if (cell.asked == Asked::cut)
                reach_[cell.stop].push_back({cell.machine, ""});
    std::map<std::vector<std::string>, std::string> known;
    for (const StopDevice &stop : description.stops()) {
        std::vector<std::string> cut;
        for (const Machine &machine : of(stop.name))
            if (machine.remark.empty())
                cut.push_back(machine.name);
        if (cut.empty())
            continue;
        const auto [entry, fresh] = known.try_emplace(cut, letter_of(known.size()));
        letter_[stop.name] = entry->second;
        if (fresh)
            for (const std::string &machine : cut) {
                std::string &letters = letters_[machine];
                letters += (letters.empty() ? "" : " ") + entry->second;
            }
    }
}

const std::vector<PlanReach::Machine> &PlanReach::of(std::string_view stop) const {
    static const std::vector<Machine> nothing;
    const auto found = reach_.find(stop);
    return found == reach_.end() ? nothing : found->second;
}

std::string PlanReach::letter(std::string_view stop) const {
    const auto found = letter_.find(stop);
    return found == letter_.end() ? "" : found->second;
}

std::string PlanReach::letters(std::string_view machine) const {
    const auto found = letters_.find(machine);
    return found == letters_.end() ? "" : found->second;
}

} // namespace stopspan
