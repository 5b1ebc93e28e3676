#include "faults.hpp"

#include "measure.hpp"
#include "what_if.hpp"

#include "stopspan/check.hpp"

#include <cstdio>
#include <map>
#include <thread>

namespace stopspan::bench {
namespace {

// By hand, for an area of ten machines: its contactor and those of the machines weld; its 8 stops jam, as do a stop and
// a start of each machine; its 8 stops, the 4 of the site and a stop of each machine lose the block they have here.
// Shorts: of the chain's 13 nets any two bypass a stop, and each but the last with the coil feeds it past one; of a
// machine's four nets any two pass its trip, its stop or its start by.
std::map<std::string, std::size_t> counted(std::size_t areas) {
    return {{"weld", 11 * areas},
            {"blind", 10 * areas},
            {"jam", 28 * areas + 4},
            {"detach", 22 * areas},
            {"bridge", (13 * 12 / 2 + 12 + 10 * 6) * areas}};
}

} // namespace

std::size_t time_faults(const Campus &campus, std::size_t machines) {
    CheckOptions options;
    options.asked = campus.asked;
    options.rules = {"single-fault"};
    options.repairs = false;
    std::size_t wrong = 0;
    Verdict first;
    for (const unsigned threads : {1U, std::thread::hardware_concurrency()}) {
        options.threads = threads;
        Verdict verdict;
        const Cost cost = cost_of([&] { verdict = check(campus.circuit, options); });
        std::printf("        every single fault on %u thread%s: %.0f ms\n", threads, threads == 1 ? "" : "s",
                    cost.wall_ms);
        std::map<std::string, std::size_t> found;
        for (const Finding &finding : verdict.findings) {
            const std::size_t from = finding.text.find('\'') + 1;
            ++found[finding.text.substr(from, finding.text.find(' ', from) - from)];
        }
        for (const auto &[kind, number] : counted(machines / 10))
            if (found[kind] != number) {
                std::printf("  WRONG: %zu faults '%s' instead of %zu take something away\n", found[kind], kind.c_str(),
                            number);
                ++wrong;
            }
        if (threads == 1) {
            first = std::move(verdict);
        } else if (!same(first, verdict)) {
            std::printf("  WRONG: other faults on %u threads\n", threads);
            ++wrong;
        }
    }
    return wrong;
}

} // namespace stopspan::bench
