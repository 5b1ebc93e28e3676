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

} // namespace
} // namespace stopspan
