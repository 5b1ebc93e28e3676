#include "checks/splice.hpp"

#include "checks/compare_text.hpp"
#include "checks/judge.hpp"

#include <algorithm>

namespace stopspan {
namespace {

/// The cells and findings of some shares of a verdict; of the lines about what is not checked those about rules.
Verdict part_of(const Verdict &verdict, const Shares &shares, const Indices &wanted) {
    Verdict part;
    part.rules = verdict.rules;
    for (const std::string &line : verdict.not_checked)
        if (line.starts_with("rule "))
            part.not_checked.push_back(line);
    std::size_t first = 0, share = 0;
    for (const std::uint32_t each : wanted) {
        for (; share < each; ++share)
            first += shares.cells[share];
        const auto from = verdict.matrix.begin() + static_cast<std::ptrdiff_t>(first);
        part.matrix.insert(part.matrix.end(), from, from + static_cast<std::ptrdiff_t>(shares.cells[each]));
    }
    for (std::size_t i = 0; i < verdict.findings.size(); ++i)
        if (std::binary_search(wanted.begin(), wanted.end(), shares.of_finding[i]))
            part.findings.push_back(verdict.findings[i]);
    return part;
}

class Splice {
public:
    Splice(Standing &standing, Again &again) : standing_(standing), again_(again) {}

    Comparison put() {
        const bool was_ok = standing_.verdict.ok();
        Verdict before = part_of(standing_.verdict, standing_.shares, again_.there),
                now = part_of(again_.verdict, again_.shares, again_.here);
        Comparison names = came_and_went(before, now);
        put_cells();
        put_findings();
        put_fed_back_left(before, now);
        for (std::size_t i = 0; i < again_.here.size(); ++i) {
            auto &counts = standing_.shares.counts[again_.there[i]];
            count(counts, false);
            counts = std::move(again_.shares.counts[again_.here[i]]);
            count(counts, true);
        }
        put_taken_by_shorts(before, now);
        return compare({before, was_ok}, {now, standing_.verdict.ok()}, std::move(names));
    }

private:
    Comparison came_and_went(const Verdict &before, const Verdict &now) {
        Comparison names;
        auto &cells_of = standing_.cells_of;
        std::unordered_map<std::string, std::size_t> were;
        for (const MatrixCell &cell : before.matrix) {
            were.try_emplace(cell.stop, cells_of.at(cell.stop));
            --cells_of.at(cell.stop);
        }
        for (const MatrixCell &cell : now.matrix) {
            const std::size_t count = cells_of[cell.stop]++;
            if (count == 0 && !were.contains(cell.stop))
                names.new_stops.push_back(cell.stop);
            were.try_emplace(cell.stop, count);
        }
        for (const MatrixCell &cell : before.matrix)
            if (const auto left = cells_of.find(cell.stop); left != cells_of.end() && left->second == 0) {
                names.gone_stops.push_back(cell.stop);
                cells_of.erase(left);
            }
        for (std::size_t i = 0; i < again_.here.size(); ++i) {
            const std::size_t were_there = standing_.shares.cells[again_.there[i]],
                              are_there = again_.shares.cells[again_.here[i]];
            if ((were_there == 0) != (are_there == 0))
                (are_there ? names.new_machines : names.gone_machines).push_back(name_of(before, now, i));
        }
        return names;
    }

    // Of a share that has cells in one of the two.
    std::string name_of(const Verdict &before, const Verdict &now, std::size_t index) const {
        std::size_t were = 0, are = 0;
        for (std::size_t i = 0; i < index; ++i) {
            were += standing_.shares.cells[again_.there[i]];
            are += again_.shares.cells[again_.here[i]];
        }
        return again_.shares.cells[again_.here[index]] ? now.matrix[are].machine : before.matrix[were].machine;
    }

    void put_cells() {
        auto &matrix = standing_.verdict.matrix;
        auto &cells = standing_.shares.cells;
        std::size_t at = 0, share = 0, from = 0, share_here = 0;
        for (std::size_t i = 0; i < again_.here.size(); ++i) {
            for (; share < again_.there[i]; ++share)
                at += cells[share];
            for (; share_here < again_.here[i]; ++share_here)
                from += again_.shares.cells[share_here];
            const std::size_t count = again_.shares.cells[again_.here[i]], old = cells[share];
            const auto begin = [&](auto &list, std::size_t index) {
                return list.begin() + static_cast<std::ptrdiff_t>(index);
            };
            if (old < count)
                matrix.insert(begin(matrix, at + old), count - old, MatrixCell{});
            else
                matrix.erase(begin(matrix, at + count), begin(matrix, at + old));
            std::move(begin(again_.verdict.matrix, from), begin(again_.verdict.matrix, from + count),
                      begin(matrix, at));
            cells[share] = count;
        }
    }

    void put_findings() {
        std::vector<Finding> findings;
        Indices shares;
        const auto take = [&](Finding &finding, std::uint32_t share) {
            findings.push_back(std::move(finding));
            shares.push_back(share);
        };
        auto &old = standing_.verdict.findings;
        const Indices &of_old = standing_.shares.of_finding;
        std::size_t next = 0;
        const auto take_old = [&](const auto &until) {
            for (; next < old.size() && until(next); ++next)
                if (!std::binary_search(again_.there.begin(), again_.there.end(), of_old[next]))
                    take(old[next], of_old[next]);
        };
        for (std::size_t i = 0; i < again_.verdict.findings.size(); ++i) {
            const auto at = std::lower_bound(again_.here.begin(), again_.here.end(), again_.shares.of_finding[i]);
            if (at == again_.here.end() || *at != again_.shares.of_finding[i])
                continue;
            Finding &finding = again_.verdict.findings[i];
            const std::pair place(place_of_rule(finding.rule),
                                  again_.there[static_cast<std::size_t>(at - again_.here.begin())]);
            take_old([&](std::size_t k) { return std::pair(place_of_rule(old[k].rule), of_old[k]) < place; });
            take(finding, place.second);
        }
        take_old([](std::size_t) { return true; });
        old = std::move(findings);
        standing_.shares.of_finding = std::move(shares);
    }

    // The line names machines of all parts.
    void put_fed_back_left(Verdict &before, Verdict &now) {
        auto &left = standing_.shares.fed_back_left;
        auto &lines = standing_.verdict.not_checked;
        if (std::any_of(left.begin(), left.end(), [](std::uint8_t one) { return one != 0; })) {
            before.not_checked.insert(before.not_checked.begin(), lines.front());
            lines.erase(lines.begin());
        }
        for (std::size_t i = 0; i < again_.here.size(); ++i)
            if (again_.there[i] < left.size())
                left[again_.there[i]] = again_.shares.fed_back_left[again_.here[i]];
        std::vector<std::string> names(left.size());
        for (const auto &[name, machine] : standing_.known->machine)
            if (left[machine] != 0)
                names[machine] = name;
        std::erase(names, std::string());
        if (names.empty())
            return;
        lines.insert(lines.begin(), fed_back_left_text(names));
        now.not_checked.insert(now.not_checked.begin(), lines.front());
    }

    // So does this one.
    void put_taken_by_shorts(Verdict &before, Verdict &now) {
        auto &lines = standing_.verdict.not_checked;
        if (lines.back() == taken_by_shorts) {
            before.not_checked.push_back(lines.back());
            lines.pop_back();
        }
        if (!any_short(standing_.verdict))
            return;
        lines.emplace_back(taken_by_shorts);
        now.not_checked.push_back(lines.back());
    }

    void count(const std::vector<Decided::Count> &counts, bool more) {
        auto &all = standing_.verdict.counts;
        for (const Decided::Count &each : counts) {
            auto &of_rule = all[std::string(each.rule)];
            std::size_t &number = of_rule[std::string(each.status)];
            number = more ? number + each.times : number - each.times;
            if (number == 0)
                of_rule.erase(std::string(each.status));
            if (of_rule.empty())
                all.erase(std::string(each.rule));
        }
    }

    Standing &standing_;
    Again &again_;
};

} // namespace

Comparison splice(Standing &standing, Again &again) {
    return Splice(standing, again).put();
}

} // namespace stopspan
