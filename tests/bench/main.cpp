// Checks the synthetic campus on one thread and on all, times it, and compares with a plain search of the whole graph
// in the same run. Over several sizes it prints how time and memory grow: the exponent of the number of machines.
// stopspan_bench [machines ...]    ends with 1 if an answer is wrong

#include "campus.hpp"
#include "faults.hpp"
#include "graph_search.hpp"
#include "measure.hpp"
#include "what_if.hpp"

#include "stopspan/check.hpp"

#include <algorithm>
#include <charconv>
#include <cstdio>
#include <cstring>
#include <exception>
#include <map>
#include <string_view>
#include <thread>

namespace {

using namespace stopspan;
using namespace stopspan::bench;
CheckOptions options_for(const Campus &campus) {
    CheckOptions options;
    options.asked = campus.asked;
    options.rules = {"stop-cuts", "stop-beats-start", "power-return", "release-return"};
    options.repairs = false;
    return options;
}

std::string text(const Expected &finding) {
    std::string line = finding.first;
    for (const std::string &subject : finding.second)
        line += " " + subject;
    return line;
}

// Findings must be the mistakes that were put in, each once, all definite; every other asked cell cuts.
std::size_t wrong_answers(const Campus &campus, const Verdict &verdict) {
    std::size_t wrong = 0;
    const auto report = [&](const char *what, const std::string &line) {
        if (++wrong <= 10)
            std::printf("  WRONG: %s: %s\n", what, line.c_str());
    };
    std::map<Expected, int> found;
    for (const Finding &finding : verdict.findings) {
        if (finding.status == Status::note)
            continue;
        const Expected key{finding.rule, {finding.subjects.begin(), finding.subjects.end()}};
        // The one start by a returning supply hangs on a coil that half its volts perhaps held in.
        const Status wanted = finding.rule == "power-return" ? Status::maybe : Status::fails;
        if (finding.status != wanted || !campus.mistakes.contains(key) || ++found[key] > 1)
            report("not expected", std::string(to_text(finding.status)) + " " + text(key) + ": " + finding.text);
    }
    for (const Expected &each : campus.mistakes)
        if (!found.contains(each))
            report("not found", text(each));
    std::size_t cells = 0;
    for (const MatrixCell &cell : verdict.matrix) {
        if (cell.asked != Asked::cut)
            continue;
        ++cells;
        const bool spared = campus.mistakes.contains({"stop-cuts", {cell.stop, cell.machine}});
        if (cell.found != (spared ? Found::spares : Found::cuts))
            report("cell", cell.stop + " x " + cell.machine + " " + std::string(to_text(cell.found)));
    }
    if (cells != campus.asked.size())
        report("cells", std::to_string(cells) + " of " + std::to_string(campus.asked.size()));
    return wrong;
}

std::size_t claims(const Verdict &verdict) {
    std::size_t all = 0;
    for (const auto &[rule, statuses] : verdict.counts)
        for (const auto &[status, number] : statuses)
            all += status == "note" ? 0 : number;
    return all;
}

struct Reference {
    std::size_t asked = 0, tried = 0, wrong = 0;
    double time_ms = 0;
};

// Every claim is one search of the whole graph; of many claims an evenly spread sample is tried, smaller the larger the
// graph.
Reference reference(const Campus &campus) {
    const std::size_t sample = std::clamp<std::size_t>(15'000'000 / campus.circuit.devices().size(), 20, 2000);
    GraphSearch search(campus.circuit);
    const std::vector<AskedCell> &cells = campus.asked;
    Reference result;
    const auto own_stop = [](const AskedCell &cell) { return cell.stop.starts_with("SH"); };
    const auto machines = static_cast<std::size_t>(std::count_if(cells.begin(), cells.end(), own_stop));
    result.asked = 3 * cells.size() + 2 * machines;
    const std::size_t step = std::max<std::size_t>(1, result.asked / sample);
    std::size_t number = 0;
    const auto claim = [&](const char *rule, const std::string &subject, const std::string &machine, auto &&holds) {
        if (number++ % step != 0)
            return;
        const auto start = Clock::now();
        const bool held = holds();
        result.time_ms += since_ms(start);
        ++result.tried;
        // Folded: a stop that never cuts a machine is not asked again whether it beats its start.
        const bool folded =
            std::string_view(rule) == "stop-beats-start" && campus.mistakes.contains({"stop-cuts", {subject, machine}});
        if (!folded && held == campus.mistakes.contains({rule, {subject, machine}})) {
            ++result.wrong;
            std::printf("  WRONG reference: %s %s %s\n", rule, subject.c_str(), machine.c_str());
        }
    };
    for (const AskedCell &cell : cells) {
        const std::string &stop = cell.stop, &machine = cell.machine;
        claim("stop-cuts", stop, machine, [&] { return search.stop_cuts(stop, machine); });
        claim("stop-beats-start", stop, machine, [&] { return search.stop_beats_start(stop, machine); });
        claim("release-return", stop, machine, [&] { return search.release_return(stop, machine); });
        if (!own_stop(cell))
            continue;
        const std::string reset = "SK" + machine.substr(1, machine.find('.') - 1);
        claim("release-return", reset, machine, [&] { return search.release_return(reset, machine); });
        claim("power-return", "G0", machine, [&] { return search.power_return(machine); });
    }
    return result;
}

// The best of several runs: what else the machine does only ever adds to it.
Cost check_often(const Campus &campus, unsigned threads, Verdict &verdict) {
    constexpr int repeats = 7;
    constexpr double enough_ms = 10'000;
    CheckOptions options = options_for(campus);
    options.threads = threads;
    Cost best;
    double spent_ms = 0;
    for (int i = 0; i < repeats && spent_ms < enough_ms; ++i) {
        verdict = {};
        const Cost cost = cost_of([&] { verdict = check(campus.circuit, options); });
        best = i == 0 ? cost : best_of(best, cost);
        spent_ms += cost.wall_ms;
    }
    return best;
}

std::size_t run(std::size_t machines, bool with_mistakes, Growth &growth) {
    const auto building = Clock::now();
    const Campus campus = make_campus(machines, with_mistakes);
    const double built_ms = since_ms(building);
    Verdict verdict;
    const Cost cost = check_often(campus, 1, verdict);
    std::printf(
        "%6zu machines, %s: %zu devices built in %.1f ms; checked in %.1f ms (%.1f ms of processor time, %.1f MB "
        "at most), %zu claims, %zu findings\n",
        machines, with_mistakes ? "with mistakes" : "all right", campus.circuit.devices().size(), built_ms,
        cost.wall_ms, cost.processor_ms, cost.peak_mb, claims(verdict), verdict.findings.size());
    growth.add(machines, cost);
    std::size_t wrong = wrong_answers(campus, verdict);
    if (const unsigned threads = std::thread::hardware_concurrency(); threads > 1) {
        Verdict other;
        const Cost together = check_often(campus, threads, other);
        std::printf("        on %u threads: %.1f ms, %.2f times as fast\n", threads, together.wall_ms,
                    cost.wall_ms / together.wall_ms);
        if (!same(verdict, other)) {
            std::printf("  WRONG: another verdict on %u threads\n", threads);
            ++wrong;
        }
    }
    constexpr std::size_t most_machines = 10'000; // beyond, comparing takes minutes
    if (machines <= most_machines)
        wrong += time_what_if(campus, options_for(campus), "four rules", 240);
    if (machines <= most_machines && !with_mistakes) {
        CheckOptions every_rule = options_for(campus);
        every_rule.rules.clear();
        wrong += time_what_if(campus, every_rule, "every rule", 48); // a whole check takes long
    }
    constexpr std::size_t most_with_faults = 1000;
    if (machines <= most_with_faults && !with_mistakes)
        wrong += time_faults(campus, machines);
    const Reference plain = reference(campus);
    const double all_ms = plain.time_ms * static_cast<double>(plain.asked) / static_cast<double>(plain.tried);
    std::printf("        plain search of the whole graph: %.0f ms for %zu claims (%zu tried): %.0f times as long\n",
                all_ms, plain.asked, plain.tried, all_ms / cost.wall_ms);
    wrong += plain.wrong;
    if (wrong)
        std::printf("        %zu WRONG ANSWERS\n", wrong);
    std::fflush(stdout);
    return wrong;
}

} // namespace

int main(int count, char **words) {
    try {
        std::vector<std::size_t> sizes;
        for (int i = 1; i < count; ++i) {
            std::size_t machines = 0;
            const char *end = words[i] + std::strlen(words[i]);
            if (std::from_chars(words[i], end, machines).ptr != end) {
                std::fprintf(stderr, "'%s' is no number of machines\n", words[i]);
                return 2;
            }
            sizes.push_back(machines);
        }
        if (sizes.empty())
            sizes = {100, 1000, 10'000, 100'000};
        std::size_t wrong = 0;
        for (const bool with_mistakes : {false, true}) {
            Growth growth;
            for (const std::size_t machines : sizes)
                wrong += run(machines, with_mistakes, growth);
            if (sizes.size() > 1)
                std::printf("grows with the number of machines to the power of: time %.2f, memory %.2f (1.1 at most)\n",
                            growth.exponent(&Cost::processor_ms), growth.exponent(&Cost::peak_mb));
        }
        return wrong ? 1 : 0;
    } catch (const std::exception &error) {
        std::fprintf(stderr, "%s\n", error.what());
        return 2;
    }
}
