#include "checks/splice.hpp"

#include "checks/compare_text.hpp"
#include "checks/judge.hpp"
#include "checks/rules_used.hpp"
#include "checks/stop_reach.hpp"

#include <algorithm>

namespace stopspan {
namespace {

/// The cells of some shares of a verdict.
Verdict part_of(const Verdict &verdict, const Shares &shares, const Indices &wanted) {
    Verdict part;
    part.rules = verdict.rules;
    std::size_t first = 0, share = 0;
    for (const std::uint32_t each : wanted) {
        for (; share < each; ++share)
            first += shares.cells[share];
        const auto from = verdict.matrix.begin() + static_cast<std::ptrdiff_t>(first);
        part.matrix.insert(part.matrix.end(), from, from + static_cast<std::ptrdiff_t>(shares.cells[each]));
    }
    return part;
}

/// As Verdict::ok() has it. @pre nothing is waived
bool holds(const Verdict &verdict) {
    return std::none_of(verdict.counts.begin(), verdict.counts.end(), [](const auto &of_rule) {
        return std::any_of(of_rule.second.begin(), of_rule.second.end(), [](const auto &each) {
            return each.first != "holds" && each.first != "note" && each.second > 0;
        });
    });
}

bool found_alike(const MatrixCell &a, const MatrixCell &b) {
    return std::tie(a.stop, a.machine, a.found) == std::tie(b.stop, b.machine, b.found);
}

/// What one rule says of a share, in place of what it said before.
struct Said {
    std::string_view rule;
    std::uint32_t share;
    Decided decided;
};

class Splice {
public:
    Splice(Standing &standing, const CheckOptions &options, Again &again)
        : standing_(standing), options_(options), again_(again) {}

    Comparison put() {
        const bool was_ok = holds(standing_.verdict);
        Verdict before = part_of(standing_.verdict, standing_.shares, again_.there),
                now = part_of(again_.verdict, again_.shares, again_.here);
        for (const std::string &line : standing_.verdict.not_checked) // of rules, which hang on no wire
            if (line.starts_with("rule "))
                for (Verdict *verdict : {&before, &now})
                    verdict->not_checked.push_back(line);
        Comparison names = came_and_went(before, now);
        put_cells();
        std::vector<Said> said;
        for (OfStop &stop : standing_.stops->put(std::move(again_.stops)))
            said.push_back(
                {stop.rule, static_cast<std::uint32_t>(standing_.first_device) + stop.device, std::move(stop.decided)});
        if (standing_.reach &&
            !std::equal(before.matrix.begin(), before.matrix.end(), now.matrix.begin(), now.matrix.end(), found_alike))
            said.push_back(reach_again());
        for (Said &each : said)
            for (Finding &finding : each.decided.findings)
                finding.source = told_source(standing_.verdict.rules, finding.rule);
        put_findings(said, before, now);
        put_fed_back_left(before, now);
        for (std::size_t i = 0; i < again_.here.size(); ++i) {
            auto &counts = standing_.shares.counts[again_.there[i]];
            count(counts, false);
            counts = std::move(again_.shares.counts[again_.here[i]]);
            count(counts, true);
        }
        for (const Said &each : said)
            count_again(each);
        put_taken_by_shorts(before, now);
        return compare({before, was_ok}, {now, holds(standing_.verdict)}, std::move(names));
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

    // In order of their places.
    std::vector<LooseFindings::One> fresh_findings(std::vector<Said> &said) {
        std::vector<LooseFindings::One> fresh;
        for (std::size_t i = 0; i < again_.verdict.findings.size(); ++i) {
            const auto at = std::lower_bound(again_.here.begin(), again_.here.end(), again_.shares.of_finding[i]);
            if (at != again_.here.end() && *at == again_.shares.of_finding[i])
                fresh.push_back({again_.shares.places[i],
                                 again_.there[static_cast<std::size_t>(at - again_.here.begin())],
                                 std::move(again_.verdict.findings[i])});
        }
        for (Said &each : said)
            for (std::size_t i = 0; i < each.decided.findings.size(); ++i) {
                const Order &order = each.decided.orders[i];
                fresh.push_back({{place_of_rule(each.rule), order.phase, each.share, order.detail},
                                 each.share,
                                 std::move(each.decided.findings[i])});
            }
        std::stable_sort(fresh.begin(), fresh.end(), [](const auto &a, const auto &b) { return a.place < b.place; });
        return fresh;
    }

    void put_findings(std::vector<Said> &said, Verdict &before, Verdict &now) {
        std::vector<LooseFindings::Part> parts;
        for (const std::uint32_t share : again_.there)
            parts.push_back({share, none});
        for (const Said &each : said)
            if (!std::binary_search(again_.there.begin(), again_.there.end(), each.share))
                parts.push_back({each.share, place_of_rule(each.rule)});
        before.findings = standing_.findings.take(standing_.verdict, standing_.shares, parts);
        for (LooseFindings::One &each : fresh_findings(said)) {
            now.findings.push_back(each.finding);
            standing_.findings.put(std::move(each));
        }
    }

    // From the matrix as it is now.
    Said reach_again() {
        const auto limit = [&](std::string_view name) {
            const auto &limits = standing_.verdict.rules.limits;
            return std::find_if(limits.begin(), limits.end(), [&](const auto &each) { return each.name == name; })
                ->value;
        };
        Said said{"stop-reach", static_cast<std::uint32_t>(standing_.first_device - 1),
                  decide_stop_reach(options_.plan, limit, standing_.verdict.matrix)};
        standing_.verdict.walks = std::move(said.decided.walks);
        return said;
    }

    // In place of what was said before.
    void count_again(const Said &said) {
        auto &counts = standing_.shares.counts[said.share];
        const auto of_rule = std::stable_partition(counts.begin(), counts.end(),
                                                   [&](const Decided::Count &each) { return each.rule != said.rule; });
        count({of_rule, counts.end()}, false);
        counts.erase(of_rule, counts.end());
        counts.insert(counts.end(), said.decided.counts.begin(), said.decided.counts.end());
        count(said.decided.counts, true);
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
    const CheckOptions &options_;
    Again &again_;
};

} // namespace

Comparison splice(Standing &standing, const CheckOptions &options, Again &again) {
    return Splice(standing, options, again).put();
}

} // namespace stopspan
