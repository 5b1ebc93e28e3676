#include "checks/alike_machines.hpp"

#include "stopspan/check.hpp"
#include "stopspan/files.hpp"
#include "stopspan/installation.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <functional>

namespace stopspan {
namespace {

using Change = std::function<void(Circuit &)>;

// A machine of its own control supply on the mains that all share, stopped by a site stop, too, and by two contacts of
// its own stop in a row; `end` tells it apart.
void add_machine(Circuit &circuit, std::vector<Connection> &site_stop, const std::string &end) {
    const auto own = [&](const char *name) { return name + end; };
    const auto add = [&](const char *name, DeviceKind kind, const std::vector<Connection> &connections,
                         const Parameters &parameters = {}) { circuit.add(own(name), kind, connections, parameters); };
    add("G2", DeviceKind::dc_supply, {{"ac1", "L1"}, {"ac2", "N"}, {"P", own("p")}, {"M", own("m")}},
        {{"voltage_v", 24.0}});
    add("F1", DeviceKind::fuse, {{"1", own("p")}, {"2", own("a")}}, {{"rating_a", 2.0}});
    add("S2", DeviceKind::push_button, {{"11", own("b")}, {"12", own("h")}, {"21", own("h")}, {"22", own("c")}},
        {{"role", std::string("stop")}});
    add("S1", DeviceKind::push_button, {{"13", own("c")}, {"14", own("d")}}, {{"role", std::string("start")}});
    add("B1", DeviceKind::overload,
        {{"1", own("u1")},
         {"2", own("u")},
         {"3", own("v1")},
         {"4", own("v")},
         {"5", own("w1")},
         {"6", own("w")},
         {"95", own("d")},
         {"96", own("e")}});
    add("K1", DeviceKind::contactor,
        {{"A1", own("e")},
         {"A2", own("m")},
         {"13", own("c")},
         {"14", own("d")},
         {"23", own("x")},
         {"24", own("y")},
         {"1", "L1"},
         {"2", own("u1")},
         {"3", "L2"},
         {"4", own("v1")},
         {"5", "L3"},
         {"6", own("w1")}},
        {{"coil_voltage_v", 24.0}, {"coil_current", std::string("DC")}});
    add("M1", DeviceKind::motor_3ph, {{"U", own("u")}, {"V", own("v")}, {"W", own("w")}});
    const std::string block = std::to_string(site_stop.size() / 2 + 1);
    site_stop.push_back({block + "1", own("a")});
    site_stop.push_back({block + "2", own("b")});
}

bool alike(const Change &change) {
    Circuit circuit;
    circuit.add("G1", DeviceKind::mains_3ph,
                std::vector<Connection>{{"L1", "L1"}, {"L2", "L2"}, {"L3", "L3"}, {"N", "N"}});
    std::vector<Connection> site_stop;
    for (const char *end : {"", ".2", ".3"}) // two alone would be tried as a whole
        add_machine(circuit, site_stop, end);
    circuit.add("ES1", DeviceKind::emergency_stop, site_stop);
    change(circuit);
    CheckOptions options;
    options.asked = {
        {"ES1", "M1", Asked::cut}, {"S2", "M1", Asked::cut}, {"ES1", "M1.2", Asked::cut}, {"S2.2", "M1.2", Asked::cut}};
    const Context context(circuit, options);
    const std::vector<MachineSeen> machines = machines_of(context);
    return AlikeMachines(context, machines).first(1) == 0;
}

TEST(MachineSurroundings, OfTheSameWiringAreAlikeWhateverTheyAreCalled) {
    EXPECT_TRUE(alike([](Circuit &) {}));
    EXPECT_TRUE(alike([](Circuit &circuit) { // what only listens does nothing to the machine
        circuit.add("P1", DeviceKind::lamp, std::vector<Connection>{{"1", "L2"}, {"2", "x"}});
        circuit.connect("K1", "24", "N");
    }));
}

// By hand: nothing but the contact that leads nowhere is without meaning to the machine.
TEST(MachineSurroundings, TellEveryMovedWire) {
    Circuit whole;
    std::vector<Connection> site_stop;
    add_machine(whole, site_stop, ".2");
    const std::vector<Device> devices(whole.devices().begin(), whole.devices().end());
    for (const Device &device : devices)
        for (const auto &terminal : device.terminals)
            EXPECT_EQ(alike([&](Circuit &circuit) { circuit.connect(device.designation, terminal.name, "loose"); }),
                      terminal.name == "23" || terminal.name == "24")
                << device.designation << ":" << terminal.name;
    for (const char *net : {"L2", "p.2", "c", "d.2", "m"})
        EXPECT_FALSE(alike([&](Circuit &circuit) { circuit.connect("S2.2", "12", net); })) << net;
}

TEST(MachineSurroundings, TellWhatDevicesAre) {
    const auto parameter = [](const char *device, const char *name, Parameter value) {
        return alike([&](Circuit &circuit) { circuit.set_parameter(device, name, std::move(value)); });
    };
    EXPECT_FALSE(parameter("S1.2", "role", std::string("jog")));
    EXPECT_FALSE(parameter("S1.2", "action", std::string("maintained")));
    EXPECT_FALSE(parameter("K1.2", "hold_w", 5.0));
    EXPECT_FALSE(parameter("G2.2", "earthed_pole", std::string("M")));
    EXPECT_FALSE(parameter("G2.2", "voltage_v", 30.0));
    EXPECT_FALSE(parameter("F1.2", "rating_a", 6.0));
    EXPECT_FALSE(parameter("B1.2", "reset", std::string("automatic")));
}

TEST(MachineSurroundings, TellWhichPolesOfTheMainsTheyStandOn) {
    EXPECT_FALSE(alike([](Circuit &circuit) {
        circuit.connect("K1.2", "1", "L2");
        circuit.connect("K1.2", "3", "L1");
    }));
    EXPECT_FALSE(alike([](Circuit &circuit) { circuit.connect("G2.2", "ac1", "L3"); }));
}

using Told = std::tuple<std::string, Status, std::string, std::vector<std::string>, std::vector<std::string>,
                        std::vector<std::string>, std::string>;

// What faults do, alone and in pairs, to four machines; apart, each contactor has a rating of its own, which moves
// nothing.
std::vector<Told> faults_told(bool apart) {
    Circuit circuit;
    circuit.add("G1", DeviceKind::mains_3ph,
                std::vector<Connection>{{"L1", "L1"}, {"L2", "L2"}, {"L3", "L3"}, {"N", "N"}});
    std::vector<Connection> site_stop;
    CheckOptions options;
    options.rules = {"earth-fault", "single-fault", "hidden-fault"};
    options.repairs = false;
    options.asked.emplace();
    double rating_a = 6.0;
    for (const std::string end : {"", ".2", ".3", ".4"}) {
        add_machine(circuit, site_stop, end);
        if (end == ".3") // alike with another contact for the one that leads nowhere
            for (const auto &[terminal, net] : {std::pair{"13", "x"}, {"14", "y"}, {"23", "c"}, {"24", "d"}})
                circuit.connect("K1" + end, terminal, net + end);
        circuit.set_parameter("K1" + end, "ac3_rating_a", apart ? rating_a++ : rating_a);
        options.asked->push_back({"ES1", "M1" + end, Asked::cut});
        options.asked->push_back({"S2" + end, "M1" + end, Asked::cut});
    }
    circuit.add("ES1", DeviceKind::emergency_stop, site_stop);
    std::vector<Told> told;
    for (const Finding &one : check(circuit, options).findings)
        told.emplace_back(one.rule, one.status, one.text, one.subjects, one.witness.acts, one.witness.path,
                          one.witness.ends_in);
    return told;
}

// Behind one zone contactor all hang together, each with a control supply of its own. By hand: every other is alike.
TEST(AlikeMachines, AmongOthersOfAnotherKindAreThoseOfTheSameStarter) {
    Installation shop("Milling hall");
    shop.description = read_installation(read_file(STOPSPAN_TEST_DATA "/two-kinds-of-starter.xml")).description;
    const Circuit circuit = shop.circuit();
    CheckOptions options;
    options.asked = shop.description.asked();
    const Context context(circuit, options);
    const AlikeMachines alike(context, machines_of(context));
    EXPECT_EQ(alike.first(2), 0);
    EXPECT_EQ(alike.first(3), 1);
    EXPECT_NE(alike.first(1), 0);
}

TEST(AlikeMachines, AreToldWhatFaultsDoAsIfEachWereJudged) {
    const std::vector<Told> told = faults_told(false);
    for (const std::string end : {"", ".2", ".3", ".4"}) { // by hand: each bridges one of the two contacts
        const std::string text = "The fault 'bridge b" + end + " h" + end + "' shows nowhere; with 'bridge h" + end +
                                 " c" + end + "' as well M1" + end + " is no longer stopped by S2" + end + ".";
        EXPECT_EQ(std::count_if(told.begin(), told.end(), [&](const Told &one) { return std::get<2>(one) == text; }), 1)
            << text;
    }
    EXPECT_EQ(told, faults_told(true));
}

} // namespace
} // namespace stopspan
