// The collection of tests/data/circuits through the whole core, without Python: what each circuit must do is compared
// in tests/python/test_circuits.py; here, sanitizers watch the same work.
#include "stopspan/check.hpp"
#include "stopspan/files.hpp"
#include "stopspan/replay.hpp"

#include <algorithm>
#include <filesystem>
#include <gtest/gtest.h>

namespace stopspan {
namespace {

std::vector<std::string> collection() {
    std::vector<std::string> names;
    for (const auto &entry : std::filesystem::directory_iterator(STOPSPAN_TEST_DATA "/circuits"))
        if (entry.path().extension() == ".csv")
            names.push_back(entry.path().stem().string());
    std::ranges::sort(names);
    return names;
}

class Collection : public testing::TestWithParam<std::string> {
protected:
    const std::string path = STOPSPAN_TEST_DATA "/circuits/" + GetParam() + ".csv";
    const Circuit circuit = read_wiring_table(read_file(path), path);
};

std::string all_acts(const Witness &witness) {
    std::string text;
    for (const std::string &act : witness.acts)
        text += act + "; ";
    return text;
}

TEST_P(Collection, EveryFailureHasAWitnessThatEndsAsItSays) {
    // Every fault of a large circuit, and every repair tried, take too long under sanitizers.
    const bool small = circuit.devices().size() <= 8;
    CheckOptions options;
    options.state_budget = 1000;
    options.repairs = small;
    for (const RuleInfo &rule : rules())
        if (small || !rule.id.ends_with("-fault"))
            options.rules.emplace_back(rule.id);
    for (const Finding &finding : check(circuit, options).findings) {
        if (finding.status != Status::fails || finding.rule == "contact-race" || finding.rule == "chatter")
            continue;
        const bool at_once = finding.witness.ends_in == "a source shorted"; // perhaps as soon as power is there
        ASSERT_TRUE(at_once || !finding.witness.acts.empty() || !finding.witness.path.empty()) << finding.text;
        Replay replay(circuit);
        replay.act(all_acts(finding.witness));
        for (const std::string &machine : circuit.machines())
            for (const char *state : {"runs", "stopped"})
                if (std::ranges::count(finding.subjects, machine) && finding.witness.ends_in == machine + " " + state) {
                    const std::string found = replay.state(machine);
                    EXPECT_TRUE(found == state || found == "maybe") << machine << " " << found << "; " << finding.text;
                }
    }
}

TEST_P(Collection, WrittenAndReadAgainIsTheSameCircuit) {
    EXPECT_EQ(read_wiring_table(write_wiring_table(circuit)), circuit);
}

INSTANTIATE_TEST_SUITE_P(Circuits, Collection, testing::ValuesIn(collection()), [](const auto &tested) {
    std::string name = tested.param;
    std::ranges::replace(name, '-', '_');
    return name;
});

} // namespace
} // namespace stopspan
