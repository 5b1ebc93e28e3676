#include "what_if.hpp"

#include "measure.hpp"

#include "stopspan/standing_check.hpp"

#include <algorithm>
#include <cstdio>

namespace stopspan::bench {
namespace {

struct Wire {
    std::string device, terminal, net;
};

// Wires of one machine that are moved in turn, each back again by the next but one: what a person tries on a drawing.
std::vector<Wire> wires_of(std::size_t area, std::size_t machine) {
    const std::string a = std::to_string(area), own = a + "." + std::to_string(machine);
    return {
        {"S" + own, "13", "b" + own},            // the start button bridges the machine's stop
        {"S" + own, "13", "d" + own},            //
        {"SH" + own, "12", "b" + own},           // the machine's stop is bridged by a wire
        {"SH" + own, "12", "d" + own},           //
        {"K" + own, "A1", "loose" + own},        // the coil's wire is off
        {"K" + own, "A1", "e" + own},            //
        {"FC" + own, "1", "u" + a + ".1"},       // control fed from ahead of the zone contactor
        {"FC" + own, "1", "z" + a + ".1"},       //
        {"ES" + a + ".3", "12", "c" + a + ".3"}, // an emergency stop is bridged by a wire
        {"ES" + a + ".3", "12", "c" + a + ".4"}, //
        {"ES2", a + "2", "c" + a + ".10"},       // a block of a stop of the site is bridged
        {"ES2", a + "2", "c" + a + ".11"},       //
    };
}

} // namespace

bool same(const Verdict &a, const Verdict &b) {
    const auto finding = [](const Finding &one, const Finding &other) {
        return one.rule == other.rule && one.status == other.status && one.subjects == other.subjects &&
               one.text == other.text && one.witness.acts == other.witness.acts &&
               one.witness.path == other.witness.path && one.witness.ends_in == other.witness.ends_in &&
               one.repair == other.repair && one.source == other.source;
    };
    const auto cell = [](const MatrixCell &one, const MatrixCell &other) {
        return one.stop == other.stop && one.machine == other.machine && one.asked == other.asked &&
               one.found == other.found && one.modes == other.modes;
    };
    return std::ranges::equal(a.findings, b.findings, finding) && std::ranges::equal(a.matrix, b.matrix, cell) &&
           a.counts == b.counts && a.not_checked == b.not_checked;
}

std::size_t time_what_if(const Campus &campus, const CheckOptions &options, const char *rules, std::size_t most_tried) {
    // Each of the twelve wires of a place is compared in turn.
    constexpr std::size_t compared_each = 19, machines_an_area = 10;
    const auto devices = campus.circuit.devices();
    const auto areas = static_cast<std::size_t>(std::count_if(
        devices.begin(), devices.end(), [](const Device &each) { return each.kind == DeviceKind::isolator; }));
    Verdict whole;
    const double whole_ms = cost_of([&] { whole = check(campus.circuit, options); }).wall_ms;
    StandingCheck standing(campus.circuit, options);
    std::size_t wrong = !same(standing.verdict(), whole), tried = 0, decided = 0;
    std::vector<double> times_ms;
    for (std::size_t place = 0; tried < most_tried; ++place) {
        // Every wire by itself: an area further on each time, another machine each round.
        const std::size_t area = 1 + place * 37 % areas, machine = 5 + place / areas % (machines_an_area - 5);
        for (const Wire &wire : wires_of(area, machine)) {
            if (++tried > most_tried)
                break;
            const auto start = Clock::now();
            const Comparison changed = standing.connect(wire.device, wire.terminal, wire.net);
            times_ms.push_back(since_ms(start));
            decided = std::max(decided, standing.decided());
            if (tried % compared_each == 1 && !same(standing.verdict(), check(standing.circuit(), options))) {
                std::printf("  WRONG: %s:%s to %s\n", wire.device.c_str(), wire.terminal.c_str(), wire.net.c_str());
                ++wrong;
            }
        }
    }
    std::sort(times_ms.begin(), times_ms.end());
    std::printf(
        "        what if one wire is moved, %s: %.2f ms in the middle of %zu, %.2f ms at most, at most %zu machines "
        "decided; the whole takes %.1f ms, %.0f times as long\n",
        rules, times_ms[times_ms.size() / 2], times_ms.size(), times_ms.back(), decided, whole_ms,
        whole_ms / times_ms[times_ms.size() / 2]);
    return wrong;
}

} // namespace stopspan::bench
