#pragma once

#include "stopspan/description.hpp"
#include "stopspan/error.hpp"

#include <gtest/gtest.h>

namespace stopspan::test {

inline std::vector<Position> rectangle(double left_m, double bottom_m, double right_m, double top_m) {
    return {{left_m, bottom_m}, {right_m, bottom_m}, {right_m, top_m}, {left_m, top_m}};
}

/// A small hall that every test of this room starts from: one supply, one board, a hall 20 m by 10 m with a bay in
/// its right half, a drill in the hall, a saw in the bay, one emergency stop, one lamp that stays on.
inline Description hall() {
    Description hall("Boatyard");
    hall.add(Supply{"G1", DeviceKind::mains_3ph, 230, 50});
    hall.add(Board{.name = "B1", .supply = hall.supply("G1"), .isolator = "Q1"});
    hall.add(Area{.name = "Hall",
                  .floor = "ground floor",
                  .outline = rectangle(0, 0, 20, 10),
                  .exits = {{"North", {5, 10}}},
                  .board = hall.board("B1"),
                  .isolator = "Q2",
                  .isolator_at = {1, 1}});
    hall.add(Area{.name = "Bay", .within = hall.area("Hall"), .outline = rectangle(10, 0, 20, 10)});
    hall.add(Machine{.name = "Drill", .area = hall.area("Hall"), .at = Position{2, 2}, .motors = {{"M1", 1.5, 400}}});
    hall.add(Machine{.name = "Saw", .area = hall.area("Bay"), .at = Position{12, 2}, .motors = {{"M2", 3, 400}}});
    hall.add(KeptLoad{.name = "E1", .area = hall.area("Hall"), .at = Position{4, 4}});
    hall.add(StopDevice{.name = "S1", .area = hall.area("Hall"), .at = Position{0, 5}});
    return hall;
}

/// Does `change` to a copy of `before`; expects a refusal with this code whose message has all these parts, and the
/// copy unchanged.
template <class Change>
void expect_refused(const Description &before, ErrorCode code, std::vector<std::string> parts, const Change &change) {
    Description changed = before;
    try {
        change(changed);
        FAIL() << "was accepted; expected a message with '" << parts.front() << "'";
    } catch (const Error &error) {
        EXPECT_EQ(error.code(), code) << error.what();
        for (const std::string &part : parts)
            EXPECT_NE(std::string(error.what()).find(part), std::string::npos)
                << "'" << part << "' is missing in: " << error.what();
    }
    EXPECT_EQ(changed, before);
}

} // namespace stopspan::test
