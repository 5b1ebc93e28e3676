#pragma once

#include "../installation/hall.hpp"
#include "stopspan/files.hpp"

namespace stopspan::test {

/// One of everything an installation file can hold, with awkward text and numbers among it.
inline InstallationFile everything() {
    InstallationFile file{hall(), {}};
    Description &it = file.description;
    it.name = "Boatyard \"Kött & Söner\" <old>";
    it.title_block = {.owner = "Nobody\nin particular",
                      .title = "Stops",
                      .number = "0001",
                      .revision = "A",
                      .date = "2025-01-31",
                      .author = "",
                      .approved = "\ttab",
                      .language = "sv"};
    it.add(Supply{
        .name = "G2", .kind = DeviceKind::mains_1ph, .voltage_v = 230.5, .frequency_hz = 60, .impedance_ohm = 0.21});
    it.add(Board{.name = "B2", .fed_from = it.board("B1"), .area = it.area("Bay"), .at = Position{19.25, 1.0 / 3}});
    it.add(Board{.name = "B3", .supply = it.supply("G2")});
    it.feed(it.area("Bay"), it.board("B2")); // the board stands in the area it feeds
    it.add(Machine{.name = "Hoist",
                   .area = it.area("Bay"),
                   .board = it.board("B1"),
                   .at = Position{15, 5},
                   .motors = {{"M3", 4, 400},
                              {.name = "M4",
                               .power_kw = 0.37,
                               .current_a = 1.1,
                               .efficiency = 0.66,
                               .power_factor = 0.72,
                               .starting_current_ratio = 4.5,
                               .starting_time_s = 0.75,
                               .capacitor_uf = 16,
                               .slow_power_kw = 0.2,
                               .slow_current_a = 0.9}},
                   .starter = Starter::drive,
                   .control = ControlSupply::dc_supply,
                   .control_voltage_v = 24,
                   .isolator = "Q3",
                   .mechanical_interlock = false,
                   .star_time_s = 4.5,
                   .stop_category = 1,
                   .stop_delay_s = 2.5,
                   .run_down_s = 0.1,
                   .run_down_without_supply_s = 30,
                   .cable_length_m = 22.5,
                   .cable_method = CableMethod::e,
                   .cable_grouping = 3,
                   .ambient_c = 35,
                   .days_per_year = 220,
                   .hours_per_day = 7.5,
                   .cycle_time_s = 90.5,
                   .well_tried = true});
    it.add(StopDevice{.name = "=A1+S2",
                      .kind = DeviceKind::floor_bar,
                      .area = it.area("Bay"),
                      .machine = it.machine("Hoist"),
                      .place = Place::machine,
                      .at = Position{15, 5.5},
                      .height_m = 0.15,
                      .contact_blocks = 2,
                      .reset_on_device = false,
                      .operations_per_year = 52,
                      .b10d_cycles = 250000,
                      .well_tried = true});
    it.add(Zone{.name = "Bay",
                .link = ZoneLink::zone_contactor,
                .devices = {it.stop("=A1+S2")},
                .areas = {it.area("Bay")},
                .reset = "S20",
                .board = it.board("B3"),
                .target = Target::accumulated_faults});
    it.add(Zone{.name = "Hall",
                .devices = {it.stop("S1"), it.stop("=A1+S2")},
                .machines = {it.machine("Drill")},
                .zones = {it.zone("Bay")}});
    it.add(Zone{.name = "Gate",
                .link = ZoneLink::stop_relay,
                .devices = {it.stop("S1")},
                .machines = {it.machine("Drill")},
                .channels = 1,
                .automatic_reset = true,
                .performance_level = PerformanceLevel::d,
                .common_cause_score = 70,
                .well_tried = true,
                .stop_relay_failures_per_h = 4.35e-9,
                .stop_relay_category = SafetyCategory::four});
    it.set_limit("coil_volts_lowest_percent", 80.5);
    it.exclude_faults("contact-will-not-open");
    it.exclude_faults("shorts-in-enclosure");
    it.waive({"own-start", {"Hoist", "B1:L1"}, "slow & guarded", "N. \"N\" <Person>", "2025-02-28"});
    it.waive({"own-start", {"Hoist"}, "slow", "N. Person", "2024-02-29"});
    it.ask("S1", "Hoist", Asked::free);
    it.ask("=A1+S2", "E1", Asked::cut);

    file.recorded.add("G9", DeviceKind::dc_supply, std::vector<Connection>{{"P", "24 V"}, {"M", "0 V"}},
                      {{"voltage_v", 24.0}, {"earthed_pole", "M"}});
    file.recorded.add("K9", DeviceKind::contactor,
                      std::vector<Connection>{{"A1", "7 <a> & \"b\""}, {"A2", "0 V"}, {"13", "7"}, {"14", "8"}},
                      {{"coil_voltage_v", 24.0}, {"coil_current", "DC"}, {"hold_w", 0.1 + 0.2}});
    file.recorded.add("E9", DeviceKind::load, std::vector<Connection>{{"1", "8"}, {"2", "0 V"}},
                      {{"kept", true}, {"machine", "Drill, old"}});
    return file;
}

/// Expects a FileError with this code and line whose message starts with file and line and has all these parts.
template <class Read>
void expect_file_error(ErrorCode code, std::size_t line, const std::string &file, std::vector<std::string> parts,
                       const Read &read) {
    try {
        read();
        FAIL() << "was accepted; expected a message with '" << parts.front() << "'";
    } catch (const FileError &error) {
        const std::string what = error.what();
        EXPECT_EQ(error.code(), code) << what;
        EXPECT_EQ(error.line(), line) << what;
        EXPECT_TRUE(what.starts_with(file + (line ? ":" + std::to_string(line) : "") + ": ")) << what;
        for (const std::string &part : parts)
            EXPECT_NE(what.find(part), std::string::npos) << "'" << part << "' is missing in: " << what;
    }
}

} // namespace stopspan::test
