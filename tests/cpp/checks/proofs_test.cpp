// What is proven once for all that sit alike must be what is proven of each alone.
#include "campus.hpp"
#include "checks/proofs.hpp"
#include "stopspan/files.hpp"

#include <algorithm>
#include <filesystem>
#include <gtest/gtest.h>
#include <map>

namespace stopspan {
namespace {

std::map<std::string, Circuit> circuits() {
    std::map<std::string, Circuit> all;
    for (const auto &entry : std::filesystem::directory_iterator(STOPSPAN_TEST_DATA "/circuits"))
        if (entry.path().extension() == ".csv")
            all.emplace(entry.path().stem().string(),
                        read_wiring_table(read_file(entry.path().string()), entry.path().string()));
    all.emplace("campus", bench::make_campus(60, false).circuit);
    all.emplace("campus with mistakes", bench::make_campus(500, true).circuit); // one of each kind
    return all;
}

TEST(SharedProofs, StopsThatOpenTheSameRowsCutWhatEachCutsAlone) {
    std::size_t proven = 0;
    for (const auto &[name, circuit] : circuits()) {
        const CheckOptions options;
        const Context context(circuit, options);
        const std::vector<MachineSeen> machines = machines_of(context);
        const auto shared = prove_cuts(context, machines, true), alone = prove_cuts(context, machines, false);
        EXPECT_EQ(shared, alone) << name;
        for (const auto &stops : shared)
            proven += stops.size();
    }
    EXPECT_GT(proven, 5000U); // 13 stops for nearly all of 560 machines
}

TEST(SharedProofs, ACoilFoundDeadWithItsNeighbourIsFoundDeadAlone) {
    std::size_t dead = 0;
    for (const auto &[name, circuit] : circuits()) {
        if (circuit.devices().size() > 1000)
            continue; // every coil with every variable
        const CheckOptions options;
        const Context context(circuit, options);
        Structure keeping = context.structure;
        const auto compare = [&](std::uint32_t armature, bool kept, auto &&assume) {
            Structure fresh = context.structure;
            assume(fresh);
            dead += kept;
            EXPECT_EQ(kept, fresh.coil_dead(armature)) << name << ", armature " << armature;
        };
        const auto armatures = static_cast<std::uint32_t>(context.compiled.armatures.size());
        for (std::uint32_t v = 0; v < context.compiled.variables.size(); ++v)
            for (const std::uint8_t position : {Structure::rest, Structure::acted})
                for (std::uint32_t i = 0; i < armatures; ++i)
                    compare(i, keeping.coil_dead_with(v, position, i),
                            [&](Structure &fresh) { fresh.assume(v, position); });
        for (std::uint32_t s = 0; s < context.compiled.sources.size(); ++s)
            for (std::uint32_t i = 0; i < armatures; ++i)
                compare(i, keeping.coil_dead_without(s, i), [&](Structure &fresh) { fresh.assume_lost(s); });
    }
    EXPECT_GT(dead, 1000U);
}

// Line K1, star K2, delta K3 and their timer K4, fed from L1 behind ES1.
Circuit star_delta(double star_coil_v, bool resistor) {
    Circuit circuit;
    const auto add = [&](const std::string &name, DeviceKind kind, const std::vector<Connection> &terminals,
                         const Parameters &parameters = {}) { circuit.add(name, kind, terminals, parameters); };
    const auto coil = [](double volts) { return Parameters{{"coil_voltage_v", volts}}; };
    const std::vector<Connection> line{{"A1", "c2"}, {"A2", "N"}, {"13", "c1"}, {"14", "c2"}, {"1", "L1"},
                                       {"2", "u1"},  {"3", "L2"}, {"4", "v1"},  {"5", "L3"},  {"6", "w1"}};
    add("G1", DeviceKind::mains_3ph, {{"L1", "L1"}, {"L2", "L2"}, {"L3", "L3"}, {"N", "N"}});
    add("ES1", DeviceKind::emergency_stop, {{"11", "L1"}, {"12", "c1"}});
    add("S1", DeviceKind::push_button, {{"13", "c1"}, {"14", "c2"}}, {{"role", std::string("start")}});
    add("K1", DeviceKind::contactor, line, coil(230));
    add("K2", DeviceKind::contactor,
        {{"A1", "s2"},
         {"A2", "N"},
         {"11", "d1"},
         {"12", "d2"},
         {"1", "u2"},
         {"2", "y"},
         {"3", "v2"},
         {"4", "y"},
         {"5", "w2"},
         {"6", "y"}},
        coil(star_coil_v));
    add("K3", DeviceKind::contactor,
        {{"A1", "d2"},
         {"A2", "N"},
         {"11", "s1"},
         {"12", "s2"},
         {"1", "u1"},
         {"2", "w2"},
         {"3", "v1"},
         {"4", "u2"},
         {"5", "w1"},
         {"6", "v2"}},
        coil(230));
    add("K4", DeviceKind::timer, {{"A1", "c2"}, {"A2", "N"}, {"15", "c2"}, {"16", "s1"}, {"17", "c2"}, {"18", "d1"}},
        coil(230));
    add("M1", DeviceKind::motor_6lead,
        {{"U1", "u1"}, {"V1", "v1"}, {"W1", "w1"}, {"U2", "u2"}, {"V2", "v2"}, {"W2", "w2"}});
    if (resistor)
        add("R1", DeviceKind::resistor, {{"1", "L1"}, {"2", "c1"}}, {{"resistance_ohm", 2000.0}});
    return circuit;
}

// By hand: with K1 in and neither K2 nor K3 the timer lets one of them come in, which 230 V always bring in; a star of
// 300 V may stay out and then come in by itself, and so may what has only some of the volts that come past ES1.
TEST(StarDelta, NothingStartsItWhereTheLineContactorInMeansThatItRuns) {
    const auto proven = [](const Circuit &circuit, Lines lines) {
        const CheckOptions options;
        const Context context(circuit, options);
        const std::vector<MachineSeen> machines = machines_of(context);
        Structure structure = context.structure;
        return proves_no_start(structure, context, machines[0], lines);
    };
    EXPECT_TRUE(proven(star_delta(230, false), Lines::whole));
    EXPECT_FALSE(proven(star_delta(230, false), Lines::may_be_lost)); // L2 and L3 come back to c2 through the windings
    EXPECT_FALSE(proven(star_delta(300, false), Lines::whole));
    EXPECT_FALSE(proven(star_delta(230, true), Lines::whole));
}

} // namespace
} // namespace stopspan
