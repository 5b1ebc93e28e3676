#pragma once

#include "stopspan/circuit.hpp"
#include "stopspan/id.hpp"
#include "stopspan/performance.hpp"
#include "stopspan/verdict.hpp"

#include <map>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <unordered_map>
#include <unordered_set>
#include <vector>

namespace stopspan {

/// A place on a floor, metres, x to the right, y away from the reader.
struct Position {
    double x_m = 0;
    double y_m = 0;
    friend bool operator==(const Position &, const Position &) = default;
};

/// What feeds the site: a one- or three-phase mains.
struct Supply {
    std::string name;                        ///< designation of its source, "G1"
    DeviceKind kind = DeviceKind::mains_3ph; ///< mains_3ph or mains_1ph
    double voltage_v = 230;                  ///< to neutral
    double frequency_hz = 50;
    std::optional<double> impedance_ohm{}; ///< of an earth-fault loop up to the boards it feeds
    friend bool operator==(const Supply &, const Supply &) = default;
};

/// A distribution board, fed from a supply or from another board.
struct Board {
    std::string name;
    std::optional<SupplyId> supply{};
    std::optional<BoardId> fed_from{};
    std::optional<AreaId> area{};
    Position at{};
    std::string isolator{}; ///< designation of its main isolator; empty: none
    friend bool operator==(const Board &, const Board &) = default;
};

struct Exit {
    std::string name;
    Position at{};
    friend bool operator==(const Exit &, const Exit &) = default;
};

/// What nobody walks through or climbs over: a column, a wall, a bench, a pit, the bed of a machine.
struct Obstacle {
    std::string name;                ///< unique in its area
    std::vector<Position> outline{}; ///< as an area's, within it
    friend bool operator==(const Obstacle &, const Obstacle &) = default;
};

/// Part of a floor or yard. Areas nest: the inner outline lies within the outer one. An inner area without exits lies
/// open to the outer one; one with exits is a room: its outline is a wall, and its exits are the doors in it.
struct Area {
    std::string name;
    std::optional<AreaId> within{};
    std::string floor{};             ///< "ground floor", "yard"; inherited from the outer area when empty
    std::vector<Position> outline{}; ///< closed polygon, at least three corners, does not cross itself
    std::vector<Exit> exits{};
    std::vector<Obstacle> obstacles{};
    std::optional<BoardId> board{}; ///< what feeds its machines unless they name another
    std::string isolator{};         ///< designation of the area's own isolator; empty: none
    Position isolator_at{};
    friend bool operator==(const Area &, const Area &) = default;
};

enum class Starter {
    one_phase_in_line,  ///< the start button bridges the pole and carries the motor current
    one_phase_one_pole, ///< separate holding contact, line only
    one_phase_two_pole, ///< separate holding contact, line and neutral
    direct,             ///< three-phase direct-on-line
    reversing,
    star_delta,
    two_speed,
    drive,
    as_found, ///< not arranged: its wiring is in the recorded circuit
};
std::string_view to_text(Starter starter);
Starter starter(std::string_view text); ///< @throws Error (bad_value)

/// How a cable is laid, IEC 60204-1 annex D: wires or cable in a conduit, cable on a wall, cable on a tray in air.
enum class CableMethod { b1, b2, c, e };
std::string_view to_text(CableMethod method);
CableMethod cable_method(std::string_view text); ///< @throws Error (bad_value)

enum class ControlSupply { same_supply, dc_supply, transformer };
std::string_view to_text(ControlSupply control);
ControlSupply control_supply(std::string_view text); ///< @throws Error (bad_value)

/// One motor of a machine.
struct Motor {
    std::string name;       ///< designation, "M1"
    double power_kw = 0;    ///< > 0; of two speeds the fast one
    double voltage_v = 400; ///< rated
    // As on the plate; what is not there is unknown.
    std::optional<double> current_a{}, efficiency{}, power_factor{};
    std::optional<double> starting_current_ratio{}; ///< starting over rated current, started direct
    std::optional<double> starting_time_s{};
    std::optional<double> capacitor_uf{};                    ///< one-phase
    std::optional<double> slow_power_kw{}, slow_current_a{}; ///< two speeds
    friend bool operator==(const Motor &, const Motor &) = default;
};

/// One thing that moves.
struct Machine {
    std::string name;
    AreaId area{};
    std::optional<BoardId> board{}; ///< else its area's, else the outer area's
    std::optional<Position> at{};   ///< where its operator stands; absent: not on the plan
    std::vector<Motor> motors{};    ///< all started together by one starter
    Starter starter = Starter::direct;
    ControlSupply control = ControlSupply::same_supply;
    double control_voltage_v = 230;     ///< 24, 48, 110, 230 or 400
    std::string isolator{};             ///< designation of its own isolator; empty: none
    bool mechanical_interlock = true;   ///< reversing, star-delta, two-speed: contactors locked against each other
    double star_time_s = 6;             ///< star-delta
    int stop_category = 0;              ///< 0, or 1 for a drive that brakes before power is taken off
    double stop_delay_s = 0;            ///< category 1
    std::optional<double> run_down_s{}; ///< with brake and supply
    std::optional<double> run_down_without_supply_s{};
    std::optional<double> cable_length_m{}; ///< from its board
    std::optional<CableMethod> cable_method{};
    std::optional<int> cable_grouping{}; ///< loaded circuits side by side, itself among them
    std::optional<double> ambient_c{};   ///< around that cable
    // How it is used, for the reliability of its stops: a cycle is from one start to the next.
    std::optional<double> days_per_year{}, hours_per_day{}, cycle_time_s{};
    bool well_tried = false; ///< its contactors and relays are well-tried components (ISO 13849-2 table D.3)
    friend bool operator==(const Machine &, const Machine &) = default;
};

/// A load no stop may cut.
struct KeptLoad {
    std::string name; ///< designation
    AreaId area{};
    std::optional<BoardId> board{};
    Position at{};
    double voltage_v = 230;
    double current_a = 1;
    friend bool operator==(const KeptLoad &, const KeptLoad &) = default;
};

enum class Place { machine, wall, floor };
std::string_view to_text(Place place);
Place place(std::string_view text); ///< @throws Error (bad_value)

/// A stop device, on a machine, a wall or the floor.
struct StopDevice {
    std::string name;                             ///< designation
    DeviceKind kind = DeviceKind::emergency_stop; ///< push_button ... guard_switch
    AreaId area{};
    std::optional<MachineId> machine{}; ///< stands on it and stops it
    Place place = Place::wall;
    std::optional<Position> at{};        ///< absent: on its machine if that is its place, else not on the plan
    std::optional<double> height_m{};    ///< of its actuator above the floor
    std::optional<int> contact_blocks{}; ///< break blocks it has; absent: as many as the wiring needs
    bool reset_on_device = true;         ///< latching ones: unlatched where it was pressed
    std::optional<double> operations_per_year{}, b10d_cycles{};
    bool well_tried = false; ///< it is a well-tried component: direct opening action (ISO 13849-2 table D.3)
    friend bool operator==(const StopDevice &, const StopDevice &) = default;
};

enum class ZoneLink {
    series_chain,   ///< stop devices in series feed the control rail of the machines
    zone_relay,     ///< chain and reset hold a relay; one of its contacts in each machine's control circuit
    zone_contactor, ///< chain and reset hold a contactor ahead of all machines
    contact_blocks, ///< every stop device has one block in each machine's control circuit
    stop_relay,     ///< stop relay drops two contactors in series ahead of all machines, its feedback watches them
};
std::string_view to_text(ZoneLink link);
ZoneLink zone_link(std::string_view text); ///< @throws Error (bad_value)

/// Stop devices and machines that share a span of control, and how they are linked.
struct Zone {
    std::string name;
    ZoneLink link = ZoneLink::zone_relay;
    std::vector<StopId> devices{};
    std::vector<MachineId> machines{}; ///< and all machines of:
    std::vector<AreaId> areas{};
    std::vector<ZoneId> zones{};      ///< zones through which this one acts: its devices also stand in their chains
    std::string reset{};              ///< designation of the reset device (zones with a relay or a contactor)
    std::optional<BoardId> board{};   ///< feeds the zone's control circuit
    Target target = Target::no_fault; ///< what faults its stops must outlive
    std::optional<int> channels{};    ///< of a stop relay: rows of contact blocks in its devices, 1 or 2; absent: 2
    bool automatic_reset = false;     ///< its relay or contactors come in again as soon as all devices are released
    std::optional<PerformanceLevel> performance_level{}; ///< that its stops must reach
    std::optional<double> common_cause_score{};          ///< of ISO 13849-1 annex F, 0 to 100
    bool well_tried = false;                             ///< its contactors and relays are well-tried components
    // As the maker of its stop relay says.
    std::optional<double> stop_relay_failures_per_h{};
    std::optional<SafetyCategory> stop_relay_category{};
    friend bool operator==(const Zone &, const Zone &) = default;
};

enum class TestResult { fail, pass };
std::string_view to_text(TestResult result);
TestResult test_result(std::string_view text); ///< @throws Error (bad_value)

/// What one trial on site gave: a line of the commissioning list, done.
struct TestRecord {
    std::string test;    ///< id of the rule it tried, "stop-cuts"
    std::string device;  ///< stop device, reset device, overload, isolator; may be empty
    std::string machine; ///< or kept load; may be empty if there is a device
    TestResult result = TestResult::fail;
    std::optional<double> run_down_s{}; ///< measured
    std::string name;                   ///< of the person
    std::string date;                   ///< "2026-11-26"
    friend bool operator==(const TestRecord &, const TestRecord &) = default;
};

/// ISO 7200 data fields that every sheet carries.
struct TitleBlock {
    std::string owner, title, number, revision, date, author, approved, language = "en";
    friend bool operator==(const TitleBlock &, const TitleBlock &) = default;
};

/// What is wanted, without a word of wiring. A value; == compares content. Names are unique: within supplies, boards
/// and areas together (they head net names), within machines and kept loads together (the columns of the matrix),
/// within stop devices, within zones. Designations (supplies, isolators, motors, loads, stop and reset devices) are
/// unique in all, and no machine has the designation of anything but its own motor.
class Description {
public:
    explicit Description(std::string called = "") : name(std::move(called)) {}
    std::string name;
    TitleBlock title_block;
    /// Says which way north lies on the plans: degrees clockwise from the y axis, -360 to 360.
    /// @throws Error (bad_value)
    void set_north(std::optional<double> degrees);
    std::optional<double> north_deg() const noexcept { return north_deg_; }

    // Each add checks what it is given against what is there.
    // @throws Error: duplicate_name, unknown_name, bad_value (NaN, out of range), contradiction; unchanged then.
    SupplyId add(Supply supply);
    BoardId add(Board board);
    AreaId add(Area area);
    MachineId add(Machine machine);
    LoadId add(KeptLoad load);
    StopId add(StopDevice stop);
    ZoneId add(Zone zone);
    /// Says which board feeds an area that is there already: a board that stands in the area it feeds comes second.
    /// @throws Error: unknown_name; contradiction (a machine there does not fit the feed)
    void feed(AreaId area, BoardId board);
    /// Links a zone another way. Where the new link has nothing to reset, the reset device is left away.
    /// @param channels  of a stop relay
    /// @throws Error (contradiction, bad_value)
    void arrange(ZoneId zone, ZoneLink link, std::optional<int> channels = {});
    /// Asks for one cell beside what the zones ask; the later word wins.
    /// @throws Error (unknown_name)
    void ask(std::string_view stop, std::string_view machine_or_load, Asked asked);
    /// Accepts a finding. @throws Error as check_waiver; duplicate_name (the same rule and subjects again)
    void waive(Waiver waiver);
    /// Keeps what a trial gave, beside those of other days.
    /// @throws Error: unknown_name (test); missing_value (device and machine, name, date); bad_value (text that is not
    ///         one line, what is no date, a run-down out of range); duplicate_name (the same trial on the same day)
    void record(TestRecord record);
    /// Leaves faults out. @throws Error (unknown_name; duplicate_name)
    void exclude_faults(std::string_view exclusion);
    /// Changes a number in a rule. @throws Error as check_limit
    void set_limit(std::string_view limit, double value);

    std::span<const Supply> supplies() const noexcept { return supplies_; }
    std::span<const Board> boards() const noexcept { return boards_; }
    std::span<const Area> areas() const noexcept { return areas_; }
    std::span<const Machine> machines() const noexcept { return machines_; }
    std::span<const KeptLoad> loads() const noexcept { return loads_; }
    std::span<const StopDevice> stops() const noexcept { return stops_; }
    std::span<const Zone> zones() const noexcept { return zones_; }
    std::span<const AskedCell> asked_by_hand() const noexcept { return asked_; }
    std::span<const Waiver> waivers() const noexcept { return waivers_; }
    std::span<const TestRecord> test_records() const noexcept { return records_; } ///< in the order of recording
    std::span<const std::string> fault_exclusions() const noexcept { return exclusions_; }
    const std::map<std::string, double, std::less<>> &limits() const noexcept { return limits_; }

    const Supply &operator[](SupplyId id) const { return supplies_.at(id.value); }
    const Board &operator[](BoardId id) const { return boards_.at(id.value); }
    const Area &operator[](AreaId id) const { return areas_.at(id.value); }
    const Machine &operator[](MachineId id) const { return machines_.at(id.value); }
    const KeptLoad &operator[](LoadId id) const { return loads_.at(id.value); }
    const StopDevice &operator[](StopId id) const { return stops_.at(id.value); }
    const Zone &operator[](ZoneId id) const { return zones_.at(id.value); }

    // By name. @throws Error (unknown_name) that lists the known names
    SupplyId supply(std::string_view name) const;
    BoardId board(std::string_view name) const;
    AreaId area(std::string_view name) const;
    MachineId machine(std::string_view name) const;
    LoadId load(std::string_view name) const;
    StopId stop(std::string_view name) const;
    ZoneId zone(std::string_view name) const;
    bool is_load(std::string_view name) const;

    /// All machines of a zone: named, in its areas (inner ones too), and of the zones it acts through.
    std::vector<MachineId> span_of(ZoneId zone) const;
    /// The wanted matrix: cut for each device of a zone and each machine of its span, and for a device on a
    /// machine; keep for every stop device and kept load; then what was asked by hand. A cell of several zones has the
    /// strictest of their targets.
    std::vector<AskedCell> asked() const;
    /// Nothing is asked in words: its circuit was entered alone, and is checked by the rule for circuits.
    bool asks_nothing() const { return stops_.empty() && machines_.empty() && asked_.empty(); }
    /// Board that feeds a machine: its own, its area's, or the nearest outer area's.
    std::optional<BoardId> board_of(const Machine &machine) const;
    std::optional<BoardId> board_of(AreaId area) const;
    /// Where a stop device stands: its own place, or that of the machine it stands on.
    std::optional<Position> place_of(const StopDevice &stop) const;
    /// Supply at the head of a board's feed.
    SupplyId supply_of(BoardId board) const;

    friend bool operator==(const Description &a, const Description &b);

private:
    /// What each index below is asked by.
    enum class Kind : unsigned char { supply, board, area, machine, load, stop, zone };
    /// A designation an object takes, and what a message calls that object.
    struct Claim {
        std::string designation, owner;
    };
    template <class Handle>
    Handle find(Kind kind, std::string_view what, std::string_view name) const;
    template <class Handle>
    void check_id(Handle id, std::size_t count, const std::string &object, std::string_view what) const;
    void check_free(Kind kind, const std::string &name) const;
    void check_claims(const std::vector<Claim> &claims) const;
    void take(Kind kind, const std::string &name, std::size_t index, const std::vector<Claim> &claims);
    void check_inside(const std::string &object, AreaId area, Position at) const;
    void check_accessible(const std::string &object, AreaId area, Position at) const;
    void check_starter(const Machine &machine, const std::string &object) const;

    std::vector<Supply> supplies_;
    std::vector<Board> boards_;
    std::vector<Area> areas_;
    std::vector<Machine> machines_;
    std::vector<KeptLoad> loads_;
    std::vector<StopDevice> stops_;
    std::vector<Zone> zones_;
    std::vector<AskedCell> asked_;
    std::vector<Waiver> waivers_;
    std::optional<double> north_deg_;
    std::vector<TestRecord> records_;
    std::vector<std::string> exclusions_;
    std::map<std::string, double, std::less<>> limits_; // those that were changed
    // Found again from the above; only there so that adding and looking up stay fast.
    std::unordered_map<std::string, std::uint32_t> index_;      // kind and name -> place in its vector
    std::unordered_map<std::string, std::string> designations_; // designation -> its owner
    std::unordered_map<std::string, std::size_t> asked_index_;  // stop and machine -> place in asked_
    std::unordered_set<std::string> record_index_;              // trial and day
    std::vector<std::vector<AreaId>> inner_areas_;              // per area
    std::vector<std::vector<MachineId>> machines_in_;           // per area
};

} // namespace stopspan
