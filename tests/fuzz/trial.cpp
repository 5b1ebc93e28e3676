#include "trial.hpp"

#include "stopspan/replay.hpp"
#include "stopspan/rules.hpp"

#include <algorithm>
#include <cstdio>
#include <cstdlib>

namespace stopspan::fuzz {
namespace {

std::string all_acts(const Witness &witness) {
    std::string text;
    for (const std::string &act : witness.acts)
        text += act + "; ";
    return text;
}

void do_if_possible(Replay &replay, const std::string &act) {
    try {
        replay.act(act);
    } catch (const Error &error) {
        if (error.code() != ErrorCode::bad_act && error.code() != ErrorCode::unknown_name)
            broken("'" + act + "' was refused as something else than an act: " + error.what());
    }
}

} // namespace

void broken(const std::string &what) {
    std::fprintf(stderr, "broken: %s\n", what.c_str());
    std::abort();
}

CheckOptions small_budget(std::size_t bytes) {
    CheckOptions options;
    options.state_budget = 200;
    options.repairs = bytes % 8 == 1; // they take long
    if (bytes % 8 == 0)
        options.target = Target::accumulated_faults;
    else
        for (const RuleInfo &rule : rules())
            if (!rule.id.ends_with("-fault"))
                options.rules.emplace_back(rule.id);
    return options;
}

void expect_told(const FileError &error, const std::string &name, std::string_view bytes) {
    const auto lines = 1 + static_cast<std::size_t>(std::ranges::count(bytes, '\n'));
    const std::string begins = name + (error.line() ? ":" + std::to_string(error.line()) : "") + ": ";
    const std::string_view what = error.what();
    if (error.file() != name || error.line() > lines || !what.starts_with(begins) || what.size() <= begins.size())
        broken("a refusal that does not say where: " + std::string(what));
}

void replay_some(const Circuit &circuit) {
    constexpr std::size_t most_acted_on = 12;
    Replay replay(circuit);
    std::size_t left = most_acted_on;
    for (const Device &device : circuit.devices()) {
        if (left-- == 0)
            break;
        for (const char *word : {"tap", "hold", "latch", "lose", "blow", "weld", "trip", "turn"})
            do_if_possible(replay, std::string(word) + " " + device.designation);
        do_if_possible(replay, "elapse");
        for (const char *word : {"free", "unlatch", "restore", "replace", "fresh", "reset"})
            do_if_possible(replay, std::string(word) + " " + device.designation);
    }
    for (const Device &device : circuit.devices())
        (void)replay.state(device.designation);
    for (const std::string &net : circuit.nets())
        (void)replay.live(net);
    (void)replay.notes();
}

void expect_witnesses(const Circuit &circuit, const Verdict &verdict) {
    const std::vector<std::string> machines = circuit.machines();
    for (const Finding &finding : verdict.findings) {
        if (finding.status != Status::fails || finding.rule == "contact-race" || finding.rule == "chatter")
            continue;
        Replay replay(circuit);
        try {
            replay.act(all_acts(finding.witness));
        } catch (const Error &error) {
            broken(finding.rule + ": a witness cannot be replayed: " + error.what() + "; " + finding.text);
        }
        for (const std::string &machine : machines)
            for (const std::string state : {"runs", "stopped"})
                if (std::ranges::count(finding.subjects, machine) && finding.witness.ends_in == machine + " " + state)
                    if (const std::string found = replay.state(machine); found != state && found != "maybe")
                        broken(finding.rule + ": a witness ends with " + machine + " " + found + ", not " + state +
                               "; " + finding.text);
    }
}

} // namespace stopspan::fuzz
