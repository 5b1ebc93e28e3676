#include "switching/explore.hpp"

#include "checks/context.hpp"

#include <gtest/gtest.h>

#include <functional>
#include <tuple>

namespace stopspan {
namespace {

using Change = std::function<void(Circuit &, const std::string &)>;

// A machine with a change-over stop, a timer and a lamp in its control circuit; `end` is put to every name of its own.
struct Explorable {
    explicit Explorable(
        const std::string &end, const Change &change = [](Circuit &, const std::string &) {})
        : circuit(wired(end, change)), context(circuit, options), machine(machines_of(context).at(0)),
          cone(cut_cone(circuit, context.compiled, context.relevance,
                        reach_of(context.compiled, context.relevance, machine.seeds, Extent::everything))) {}

    static Circuit wired(const std::string &end, const Change &change) {
        Circuit circuit;
        const auto own = [&](const char *name) { return name + end; };
        const auto add = [&](const char *name, DeviceKind kind, const std::vector<Connection> &connections,
                             const Parameters &parameters = {}) {
            circuit.add(own(name), kind, connections, parameters);
        };
        const Parameters coil{{"coil_voltage_v", 230.0}, {"coil_current", std::string("AC")}, {"hold_va", 8.0}};
        add("G1", DeviceKind::mains_1ph, {{"L", "L"}, {"N", "N"}});
        add("F1", DeviceKind::fuse, {{"1", "L"}, {"2", own("a")}}, {{"rating_a", 4.0}});
        add("S2", DeviceKind::push_button, {{"11", own("a")}, {"12", own("b")}, {"23", own("a")}, {"24", own("p")}},
            {{"role", std::string("stop")}});
        add("P1", DeviceKind::lamp, {{"1", own("p")}, {"2", "N"}}, {{"voltage_v", 230.0}, {"current_a", 0.02}});
        add("S1", DeviceKind::push_button, {{"13", own("b")}, {"14", own("c")}}, {{"role", std::string("start")}});
        Parameters timer = coil;
        timer["delay_s"] = 5.0;
        add("K2", DeviceKind::timer, {{"A1", own("c")}, {"A2", "N"}, {"55", own("c")}, {"56", own("d")}}, timer);
        add("K1", DeviceKind::contactor,
            {{"A1", own("d")}, {"A2", "N"}, {"13", own("b")}, {"14", own("c")}, {"1", "L"}, {"2", own("m")}}, coil);
        add("M1", DeviceKind::motor_1ph, {{"L", own("m")}, {"N", "N"}});
        change(circuit, end);
        return circuit;
    }

    Circuit circuit;
    CheckOptions options;
    Context context;
    MachineSeen machine;
    Cone cone;
};

// Everything that is shown of every act, names left out.
using Shown = std::tuple<State, std::uint32_t, std::vector<State>, std::vector<State>, std::vector<std::uint32_t>, bool,
                         bool, std::vector<State>>;
std::vector<Shown> explored(const Cone &cone, const Explored *before, std::optional<Explored> *keep,
                            std::size_t budget = 100'000) {
    Exploration exploration(cone);
    std::vector<Shown> all;
    const bool complete = exploration.run(
        budget,
        [&](const Exploration::Transition &t) {
            std::vector<State> to;
            for (const std::uint32_t node : t.to)
                to.push_back(exploration.nodes()[node].state);
            all.emplace_back(exploration.nodes()[t.from].state, t.act, to, t.settled.sure, t.settled.moved,
                             t.settled.race, t.settled.chatter, t.settled.passed);
        },
        before, keep);
    EXPECT_EQ(complete, budget > 1);
    return all;
}

TEST(Exploration, OfTheSameWiringByOtherNamesIsTheOneBefore) {
    const Explorable first(""), second(".2");
    ASSERT_TRUE(same_but_for_names(first.cone, second.cone));
    std::optional<Explored> kept, none_kept;
    const auto of_first = explored(first.cone, nullptr, &kept);
    ASSERT_TRUE(kept);
    EXPECT_EQ(kept->settled.size(), of_first.size());
    EXPECT_EQ(explored(second.cone, &*kept, nullptr), explored(second.cone, nullptr, nullptr));
    EXPECT_GT(of_first.size(), 50U);
    explored(first.cone, nullptr, &none_kept, 1);
    EXPECT_FALSE(none_kept);
}

// By hand: each of these moves a contact at another moment, or lets a hand do something else.
TEST(Exploration, IsAnotherAfterEveryChange) {
    const Explorable whole("");
    const auto differs = [&](const Change &change) {
        return !same_but_for_names(whole.cone, Explorable(".2", change).cone);
    };
    const auto set = [&](const char *device, const char *name, Parameter value) {
        return differs(
            [=](Circuit &circuit, const std::string &end) { circuit.set_parameter(device + end, name, value); });
    };
    EXPECT_FALSE(differs([](Circuit &, const std::string &) {}));
    EXPECT_FALSE(set("S1", "rating_a", 6.0));
    EXPECT_TRUE(set("F1", "rating_a", 6.0));
    EXPECT_TRUE(set("K1", "hold_va", 9.0));
    EXPECT_TRUE(set("K1", "inrush_va", 90.0));
    EXPECT_TRUE(set("K1", "coil_voltage_v", 110.0));
    EXPECT_TRUE(set("K1", "coil_current", std::string("DC")));
    EXPECT_TRUE(set("K1", "interlocked_with", std::string("K2.2")));
    EXPECT_TRUE(set("K2", "delay", std::string("off")));
    EXPECT_TRUE(set("P1", "current_a", 0.5));
    EXPECT_TRUE(set("S1", "action", std::string("maintained")));
    EXPECT_TRUE(set("S1", "role", std::string("jog")));
    EXPECT_TRUE(set("S2", "action", std::string("latching")));
    EXPECT_TRUE(set("M1", "voltage_v", 400.0));
    EXPECT_TRUE(set("G1", "voltage_v", 115.0));
    EXPECT_TRUE(set("G1", "earthed_pole", std::string("none")));
    const Explorable other(".2");
    for (const Device &device : other.circuit.devices())
        for (const auto &terminal : device.terminals)
            EXPECT_TRUE(differs([&](Circuit &circuit, const std::string &) {
                circuit.connect(device.designation, terminal.name, "loose");
            })) << device.designation
                << ":" << terminal.name;
}

} // namespace
} // namespace stopspan
