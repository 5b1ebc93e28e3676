// How far a change is asked about: the machines and loads it can influence, and no others.
#include "stopspan/standing_check.hpp"

#include "campus.hpp"
#include "stopspan/description.hpp"
#include "stopspan/error.hpp"

#include <gtest/gtest.h>
#include <tuple>

namespace stopspan {
namespace {

using Wires = std::vector<Connection>;

CheckOptions four_rules() {
    CheckOptions options;
    options.rules = {"stop-cuts", "stop-beats-start", "power-return", "release-return"};
    options.repairs = false;
    return options;
}

// A saw, started direct, on the nets of a mains; ES1 has a block in it.
void add_saw(Circuit &circuit, const std::string &n, Wires &blocks) {
    const auto own = [&](const char *letters) { return letters + n; };
    blocks.push_back({n + "1", own("a")});
    blocks.push_back({n + "2", own("b")});
    circuit.add(own("F"), DeviceKind::fuse, Wires{{"1", "L1"}, {"2", own("a")}});
    circuit.add(own("S"), DeviceKind::push_button, Wires{{"11", own("b")}, {"12", own("c")}},
                {{"role", std::string("stop")}});
    circuit.add(own("B"), DeviceKind::push_button, Wires{{"13", own("c")}, {"14", own("d")}},
                {{"role", std::string("start")}});
    circuit.add(own("K"), DeviceKind::contactor,
                Wires{{"A1", own("d")}, {"A2", "N"}, {"13", own("c")}, {"14", own("d")}, {"1", "L1"}, {"2", own("m")}},
                {{"coil_voltage_v", 230.0}});
    circuit.add(own("M"), DeviceKind::motor_1ph, Wires{{"L", own("m")}, {"N", "N"}});
}

Circuit saws(int count) {
    Circuit circuit;
    circuit.add("G1", DeviceKind::mains_1ph, Wires{{"L", "L1"}, {"N", "N"}});
    Wires blocks;
    for (int n = 1; n <= count; ++n)
        add_saw(circuit, std::to_string(n), blocks);
    circuit.add("ES1", DeviceKind::emergency_stop, blocks);
    return circuit;
}

std::string all_of(const Verdict &verdict) {
    std::string text;
    for (const Finding &each : verdict.findings) {
        text += each.rule + "|" + std::string(to_text(each.status)) + "|" + each.text + "|" + each.source;
        for (const std::string &act : each.witness.acts)
            text += "|" + act;
        for (const std::string &step : each.witness.path)
            text += "|" + step;
        text += "|" + each.witness.ends_in + "\n";
    }
    for (const MatrixCell &cell : verdict.matrix) {
        text += cell.stop + " " + cell.machine + " " + std::string(to_text(cell.asked)) + " " +
                std::string(to_text(cell.found));
        for (const auto &[mode, found] : cell.modes)
            text += " " + mode + " " + std::string(to_text(found));
        text += "\n";
    }
    for (const auto &[rule, counts] : verdict.counts)
        for (const auto &[status, number] : counts)
            text += rule + " " + status + " " + std::to_string(number) + "\n";
    for (const std::string &line : verdict.not_checked)
        text += line + "\n";
    for (const Walk &walk : verdict.walks)
        text += walk.start + " " + walk.stop + " " + std::to_string(walk.distance_m) + "\n";
    return text;
}

void expect_as_checked(const StandingCheck &standing, const CheckOptions &options) {
    EXPECT_EQ(all_of(standing.verdict()), all_of(check(standing.circuit(), options)));
}

TEST(StandingCheck, AsksOnlyTheMachineWhoseWireWasMoved) {
    const CheckOptions options = four_rules();
    StandingCheck standing(saws(5), options);
    EXPECT_EQ(standing.decided(), 5U);
    const Comparison changed = standing.connect("K3", "13", "a3"); // ahead of both stops
    EXPECT_EQ(standing.decided(), 1U);
    EXPECT_EQ(changed.sentences.at(1), "No stop surely cuts M3 any more; S3, ES1 did.");
    expect_as_checked(standing, options);
    EXPECT_TRUE(standing.connect("K3", "13", "c3").changed());
    EXPECT_EQ(standing.decided(), 1U);
    EXPECT_TRUE(standing.verdict().ok());
    expect_as_checked(standing, options);
    EXPECT_FALSE(standing.connect("K3", "13", "c3").changed());
}

TEST(StandingCheck, AsksBothMachinesThatAWireJoinsOrParts) {
    const CheckOptions options = four_rules();
    StandingCheck standing(saws(5), options);
    standing.connect("B2", "14", "d4"); // the start of the one starts the other
    EXPECT_EQ(standing.decided(), 2U);
    expect_as_checked(standing, options);
    standing.connect("B2", "14", "d2");
    EXPECT_EQ(standing.decided(), 2U);
    expect_as_checked(standing, options);
    standing.connect("K2", "13", "c2");
    EXPECT_EQ(standing.decided(), 0U); // there it is already
    standing.connect("K2", "13", "b2");
    EXPECT_EQ(standing.decided(), 1U); // they are apart again
}

TEST(StandingCheck, ABlockOfACommonStopConcernsItsMachineAlone) {
    const CheckOptions options = four_rules();
    StandingCheck standing(saws(5), options);
    const Comparison changed = standing.connect("ES1", "42", "c4"); // past the machine's own stop
    EXPECT_EQ(standing.decided(), 1U);
    EXPECT_EQ(changed.sentences, std::vector<std::string>{"S4 no longer cuts M4."});
    expect_as_checked(standing, options);
}

TEST(StandingCheck, NewContactsAndOtherValuesConcernTheirMachine) {
    const CheckOptions options = four_rules();
    StandingCheck standing(saws(5), options);
    standing.add("X1", DeviceKind::link, Wires{{"1", "a2"}, {"2", "b2"}}); // bridges the emergency stop
    EXPECT_EQ(standing.decided(), 1U);
    EXPECT_FALSE(standing.verdict().ok());
    expect_as_checked(standing, options);
    standing.set_parameter("K2", "hold_va", 5.0);
    EXPECT_EQ(standing.decided(), 1U);
    expect_as_checked(standing, options);
    standing.set_parameter("B4", "action", std::string("maintained"));
    EXPECT_EQ(standing.decided(), 1U);
    expect_as_checked(standing, options);
}

TEST(StandingCheck, AsksEverythingWhereAChangeMayMatterToAll) {
    const CheckOptions options = four_rules();
    StandingCheck standing(saws(5), options);
    standing.connect("F1", "2", "N"); // a short of the common source
    EXPECT_EQ(standing.decided(), 5U);
    expect_as_checked(standing, options);
    standing.connect("K3", "13", "a3"); // as long as it is there
    EXPECT_EQ(standing.decided(), 5U);
    standing.connect("F1", "2", "a1");
    EXPECT_EQ(standing.decided(), 5U);
    standing.connect("K3", "13", "c3");
    EXPECT_EQ(standing.decided(), 1U);
    standing.remove("S1");
    EXPECT_EQ(standing.decided(), 5U);
    expect_as_checked(standing, options);

    StandingCheck with_repairs(saws(5)); // of faults, too
    with_repairs.connect("K3", "13", "a3");
    EXPECT_EQ(with_repairs.decided(), 5U);
    expect_as_checked(with_repairs, {});
}

CheckOptions every_rule() {
    CheckOptions options;
    options.repairs = false;
    return options;
}

TEST(StandingCheck, EveryRuleIsAskedOfTheMachineAlone) {
    for (const Target target : {Target::no_fault, Target::single_fault, Target::accumulated_faults}) {
        CheckOptions options = every_rule();
        options.target = target;
        StandingCheck standing(saws(5), options);
        for (const auto &[device, terminal, net] : {std::tuple{"K3", "13", "b3"}, // ahead of its own stop
                                                    {"ES1", "42", "a4"},          // the common stop bridged
                                                    {"F2", "2", "x2"},            // it never runs any more
                                                    {"ES1", "42", "b4"},
                                                    {"K3", "13", "c3"},
                                                    {"F2", "2", "a2"}}) {
            standing.connect(device, terminal, net);
            EXPECT_EQ(standing.decided(), 1U) << device << " " << net;
            expect_as_checked(standing, options);
        }
    }
}

// Two saws are fed over isolators of their own: the contacts of the common stop are fed from several.
TEST(StandingCheck, WhatFeedsTheContactsOfACommonStopIsPutTogether) {
    Circuit circuit = saws(5);
    for (const char *n : {"1", "2"}) {
        circuit.add("Q" + std::string(n), DeviceKind::isolator, Wires{{"1", "L1"}, {"2", "q" + std::string(n)}});
        circuit.connect("F" + std::string(n), "1", "q" + std::string(n));
    }
    CheckOptions options = every_rule();
    options.rules = {"one-origin"};
    StandingCheck standing(circuit, options);
    const auto note = [&] { return standing.verdict().findings.at(0).text; };
    EXPECT_EQ(note().substr(0, 42), "The contacts of ES1 are fed from G1, Q1, Q");
    standing.connect("F2", "1", "L1");
    EXPECT_EQ(standing.decided(), 1U);
    EXPECT_EQ(note().substr(0, 44), "The contacts of ES1 are fed from G1, Q1: all");
    expect_as_checked(standing, options);
    standing.connect("F1", "1", "L1");
    EXPECT_EQ(standing.decided(), 1U);
    EXPECT_TRUE(standing.verdict().findings.empty());
    expect_as_checked(standing, options);
}

TEST(StandingCheck, WalksAndRunDownTimesFollowTheMatrixAndTheMachine) {
    Description plan("Saws");
    const auto board = plan.add(Board{.name = "Q1", .supply = plan.add(Supply{.name = "Grid"})});
    const AreaId hall = plan.add(
        Area{.name = "Hall", .outline = {{0, 0}, {60, 0}, {60, 9}, {0, 9}}, .board = board, .isolator_at = {1, 1}});
    for (int n = 1; n <= 5; ++n) {
        plan.add(Machine{.name = "M" + std::to_string(n),
                         .area = hall,
                         .at = Position{n * 4.0, 4},
                         .motors = {Motor{"MA" + std::to_string(n), 1.5, 400}},
                         .run_down_s = n * 4.0});
        plan.add(StopDevice{.name = "S" + std::to_string(n), .area = hall, .at = Position{n * 4.0 + 15, 4}});
    }
    plan.add(StopDevice{.name = "ES1", .area = hall, .at = Position{12, 5}});
    CheckOptions options = every_rule();
    options.rules = {"stop-cuts", "stop-reach", "stop-time"};
    options.plan = &plan;
    options.limits = {{"machine_walk_longest_m", 9}};
    StandingCheck standing(saws(5), options);
    EXPECT_EQ(standing.verdict().counts.at("stop-reach").count("fails"), 0U); // 8.1 m from the first and the last
    EXPECT_EQ(standing.verdict().counts.at("stop-time").at("fails"), 3U);     // 12, 16 and 20 s
    standing.connect("ES1", "42", "a4");
    EXPECT_EQ(standing.decided(), 1U);
    EXPECT_EQ(standing.verdict().counts.at("stop-reach").at("fails"), 1U); // 15 m to its own
    expect_as_checked(standing, options);
    standing.connect("ES1", "42", "b4");
    EXPECT_EQ(standing.decided(), 1U);
    EXPECT_EQ(standing.verdict().counts.at("stop-reach").count("fails"), 0U);
    expect_as_checked(standing, options);
}

TEST(StandingCheck, ARefusedChangeLeavesAllAsItWas) {
    CheckOptions options = four_rules();
    options.asked = {{"ES1", "M2", Asked::cut, Target::no_fault}};
    StandingCheck standing(saws(5), options);
    const Circuit circuit = standing.circuit();
    const std::string verdict = all_of(standing.verdict());
    EXPECT_THROW(standing.connect("K3", "19", "a3"), Error);
    EXPECT_THROW(standing.connect("K9", "13", "a3"), Error);
    EXPECT_THROW(standing.connect("K3", "13", ""), Error);
    EXPECT_THROW(standing.set_parameter("K3", "coil_voltage_v", -1.0), Error);
    EXPECT_THROW(standing.add("K3", DeviceKind::link, Wires{{"1", "a"}, {"2", "b"}}), Error);
    EXPECT_THROW(standing.remove("M2"), Error); // it is asked about
    EXPECT_EQ(standing.circuit(), circuit);
    EXPECT_EQ(all_of(standing.verdict()), verdict);
    standing.connect("K3", "13", "a3");
    EXPECT_EQ(standing.decided(), 1U);
    expect_as_checked(standing, options);
}

TEST(StandingCheck, ACopyGoesItsOwnWay) {
    const CheckOptions options = four_rules();
    StandingCheck standing(saws(5), options);
    StandingCheck copy = standing;
    copy.connect("K3", "13", "a3");
    EXPECT_TRUE(standing.verdict().ok());
    EXPECT_FALSE(copy.verdict().ok());
    expect_as_checked(standing, options);
    expect_as_checked(copy, options);
}

TEST(StandingCheck, OnTheCampusAWireConcernsItsAreaAtMost) {
    const bench::Campus campus = bench::make_campus(200, true);
    CheckOptions options = four_rules();
    options.asked = campus.asked;
    StandingCheck standing(campus.circuit, options);
    for (const auto &[device, terminal, net] :
         {std::tuple{"S5.7", "13", "b5.7"}, {"ES3", "72", "c7.10"}, {"ES9.2", "11", "c9.3"}, {"K1.4", "A2", "loose"}}) {
        standing.connect(device, terminal, net);
        EXPECT_EQ(standing.decided(), 10U) << device;
        expect_as_checked(standing, options);
    }
}

TEST(StandingCheck, OnTheCampusFaultsAreThoseOfTheArea) {
    const bench::Campus campus = bench::make_campus(50, false);
    CheckOptions options = every_rule();
    options.asked = campus.asked;
    StandingCheck standing(campus.circuit, options);
    for (const auto &[device, terminal, net] : {std::tuple{"SH4.7", "12", "b4.7"}, {"ES3", "32", "c3.10"}}) {
        standing.connect(device, terminal, net);
        EXPECT_EQ(standing.decided(), 10U) << device;
        expect_as_checked(standing, options);
    }
}

} // namespace
} // namespace stopspan
