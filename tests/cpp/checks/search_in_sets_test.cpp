// What sets of states show of a fault must be what single states show of it.
#include "checks/fault_list.hpp"
#include "checks/search_in_sets.hpp"
#include "stopspan/files.hpp"

#include <algorithm>
#include <filesystem>
#include <gtest/gtest.h>

namespace stopspan {
namespace {

constexpr std::size_t most_states = 4000, most_faults = 40; // of a circuit

// A stop ahead of machines of which only one can run: a break contact of every other before each coil.
Circuit interlocked(int machines) {
    Circuit circuit;
    const auto name = [](const char *letter, int m) { return letter + std::to_string(m); };
    circuit.add("G1", DeviceKind::mains_1ph, std::vector<Connection>{{"L", "L"}, {"N", "N"}});
    circuit.add("ES1", DeviceKind::emergency_stop, std::vector<Connection>{{"11", "L"}, {"12", "c"}});
    std::vector<std::vector<Connection>> contactors;
    for (int m = 1; m <= machines; ++m) {
        const std::string start = name("a", m) + ".0";
        circuit.add(name("S", m), DeviceKind::push_button, std::vector<Connection>{{"13", "c"}, {"14", start}},
                    {{"role", std::string("start")}, {"machine", name("M", m)}});
        circuit.add(name("M", m), DeviceKind::motor_1ph, std::vector<Connection>{{"L", name("m", m)}, {"N", "N"}});
        contactors.push_back({{"A2", "N"}, {"1", "L"}, {"2", name("m", m)}, {"13", "c"}, {"14", start}});
    }
    for (int m = 1; m <= machines; ++m) {
        std::string at = name("a", m) + ".0";
        for (int other = 1; other <= machines; ++other) {
            if (other == m)
                continue;
            const std::string after = name("a", m) + "." + std::to_string(other), row = std::to_string(m + 20);
            contactors[other - 1].push_back({row + "1", at});
            contactors[other - 1].push_back({row + "2", after});
            at = after;
        }
        contactors[m - 1].push_back({"A1", at});
    }
    for (int m = 1; m <= machines; ++m)
        circuit.add(name("K", m), DeviceKind::contactor, contactors[m - 1],
                    {{"coil_voltage_v", 230.0}, {"coil_current", std::string("AC")}});
    return circuit;
}

using ToldClaims = std::map<std::pair<std::string, std::string>, Status>;

ToldClaims told(const Facts &facts) {
    ToldClaims told;
    for (const auto &[key, fact] : facts)
        if ((fact.status == Status::fails || fact.status == Status::maybe) &&
            (key.first == "stop-cuts" || key.first == "stop-beats-start" || is_start_rule(key.first)))
            told.emplace(key, fact.status);
    return told;
}

struct Compared {
    std::size_t faults = 0, taking = 0, perhaps = 0;
};

void compare(const std::string &name, const Circuit &circuit, Compared &all) {
    const CheckOptions options;
    const Context context(circuit, options);
    const std::vector<MachineSeen> machines = machines_of(context);
    std::size_t compared = 0;
    for (const FaultCase &one : single_faults(context, machines).cases) {
        if (one.fault.kind == Fault::Kind::detach || one.fault.kind == Fault::Kind::blind)
            continue; // they only take acts away
        for (const std::uint32_t machine : one.machines) {
            if (compared == most_faults)
                return;
            const auto searched = [&](auto &&how) {
                MachineSearch search(context, machines[machine], Extent::everything, {&one.fault, 1});
                search.only([&](const Act &act, Variable::Kind, const ActorInfo &) {
                    return act.kind != ActKind::blow && !takes_one_pole(act, search.cone().circuit);
                });
                return how(search);
            };
            const auto in_sets = searched([](MachineSearch &search) { return search_in_sets(search); });
            if (!in_sets)
                continue;
            const auto singly = searched([](MachineSearch &search) {
                return search.run(most_states) ? std::optional(told(search.facts())) : std::nullopt;
            });
            if (!singly)
                continue;
            EXPECT_EQ(told(in_sets->facts), *singly)
                << name << ": " << one.fault.text << " on " << machines[machine].name;
            ++compared;
            ++all.faults;
            all.taking += !singly->empty();
            all.perhaps += std::any_of(singly->begin(), singly->end(),
                                       [](const auto &each) { return each.second == Status::maybe; });
        }
    }
}

TEST(SearchInSets, ShowsWhatSingleStatesShow) {
    Compared all;
    for (const auto &entry : std::filesystem::directory_iterator(STOPSPAN_TEST_DATA "/circuits"))
        if (entry.path().extension() == ".csv")
            compare(entry.path().stem().string(),
                    read_wiring_table(read_file(entry.path().string()), entry.path().string()), all);
    for (const int machines : {2, 3, 4})
        compare(std::to_string(machines) + " interlocked machines", interlocked(machines), all);
    RecordProperty("faults", static_cast<int>(all.faults));
    EXPECT_GT(all.faults, 800U);
    EXPECT_GT(all.taking, 500U);
    EXPECT_GT(all.perhaps, 50U);
}

// By hand: ES1 opens L-c; a1.0 joined to L holds K1 with no way through it, so no stop and no start button is needed.
TEST(SearchInSets, TellsTheFewestActsOfSevenInterlockedMachines) {
    const Circuit circuit = interlocked(7);
    const CheckOptions options;
    const Context context(circuit, options);
    const std::vector<MachineSeen> machines = machines_of(context);
    const auto faults = single_faults(context, machines).cases;
    const auto bridge = std::find_if(faults.begin(), faults.end(),
                                     [](const FaultCase &one) { return one.fault.text == "bridge L a1.0"; });
    ASSERT_NE(bridge, faults.end());
    MachineSearch search(context, machines[0], Extent::everything, {&bridge->fault, 1});
    const auto seen = search_in_sets(search);
    ASSERT_TRUE(seen);
    const auto acts = [&](const char *rule, const char *subject) { return seen->facts.at({rule, subject}).acts; };
    EXPECT_EQ(acts("own-start", "bridge L a1.0"), (std::vector<std::string>{"bridge L a1.0"}));
    EXPECT_EQ(acts("stop-cuts", "ES1"), (std::vector<std::string>{"bridge L a1.0", "latch ES1"}));
    EXPECT_EQ(acts("power-return", "G1"), (std::vector<std::string>{"lose G1", "bridge L a1.0", "restore G1"}));
    EXPECT_EQ(to_text(seen->noticed), "M1 starts as it happens, unless something holds it off");
    for (const auto &[key, status] : told(seen->facts))
        EXPECT_EQ(status, Status::fails) << key.first << " " << key.second;
}

} // namespace
} // namespace stopspan
