#include "campus.hpp"

#include <array>
#include <stdexcept>

namespace stopspan::bench {
namespace {

constexpr std::size_t machines_an_area = 10, stops_an_area = 8, site_stops = 4;

enum class Mistake {
    none,
    holding_ahead_of_own_stop,  ///< the machine's stop is bridged by its holding contact
    fed_ahead_of_zone,          ///< the machine does not feel the zone contactor
    zone_held_ahead_of_chain,   ///< the zone contactor's holding contact bridges the last area stop and the site stops
    start_ahead_of_own_stop,    ///< the start button bridges the machine's stop
    selector_instead_of_holding ///< the zone reset starts the machine
};

std::string name(const char *letter, std::size_t area, std::size_t number = 0) {
    return letter + std::to_string(area) + (number ? "." + std::to_string(number) : "");
}

const Parameters coil{{"coil_voltage_v", 230.0}, {"coil_current", std::string("AC")}};

Parameters role(const char *word) {
    return {{"role", std::string(word)}};
}

// One area with all that stands in it; `site` has a break block of each site stop per area.
class Area {
public:
    Area(Campus &campus, std::vector<std::vector<Connection>> &site, std::size_t number, Mistake mistake)
        : campus_(campus), circuit_(campus.circuit), site_(site), number_(number), mistake_(mistake) {}

    void add() {
        add_zone();
        for (std::size_t machine = 1; machine <= machines_an_area; ++machine)
            add_machine(machine);
    }

private:
    std::string net(const char *what, std::size_t number = 0) const { return name(what, number_, number); }
    std::string stop(std::size_t number) const { return name("ES", number_, number); }

    void device(const std::string &designation, DeviceKind kind, const std::vector<Connection> &connections,
                const Parameters &parameters = {}) {
        circuit_.add(designation, kind, connections, parameters);
    }

    void add_zone() {
        device(net("Q"), DeviceKind::isolator,
               {{"1", "L1"}, {"2", net("u", 1)}, {"3", "L2"}, {"4", net("u", 2)}, {"5", "L3"}, {"6", net("u", 3)}});
        device(net("F"), DeviceKind::fuse, {{"1", net("u", 1)}, {"2", net("c", 1)}}, {{"rating_a", 2.0}});
        for (std::size_t i = 1; i <= stops_an_area; ++i)
            device(stop(i), DeviceKind::emergency_stop, {{"11", net("c", i)}, {"12", net("c", i + 1)}});
        const std::string block = std::to_string(number_);
        for (std::size_t i = 0; i < site_stops; ++i) {
            const std::size_t here = stops_an_area + 1 + i;
            site_[i].push_back({block + "1", net("c", here)});
            site_[i].push_back({block + "2", net("c", here + 1)});
        }
        const std::string end = net("c", stops_an_area + site_stops + 1);
        const bool bridged = mistake_ == Mistake::zone_held_ahead_of_chain;
        device(net("SK"), DeviceKind::key_switch, {{"13", end}, {"14", net("k")}});
        device(net("KM"), DeviceKind::contactor,
               {{"A1", net("k")},
                {"A2", "N"},
                {"13", bridged ? net("c", stops_an_area) : end},
                {"14", net("k")},
                {"1", net("u", 1)},
                {"2", net("z", 1)},
                {"3", net("u", 2)},
                {"4", net("z", 2)},
                {"5", net("u", 3)},
                {"6", net("z", 3)}},
               coil);
        if (!bridged)
            return;
        for (std::size_t machine = 1; machine <= machines_an_area; ++machine) {
            expect("stop-cuts", stop(stops_an_area), name("M", number_, machine));
            for (std::size_t i = 1; i <= site_stops; ++i)
                expect("stop-cuts", "ES" + std::to_string(i), name("M", number_, machine));
        }
    }

    void expect(const char *rule, const std::string &subject, const std::string &machine) {
        campus_.mistakes.insert({rule, {subject, machine}});
    }

    void add_machine(std::size_t number) {
        const auto own = [&](const char *what) { return net(what, number); };
        const Mistake mistake = number == 4 ? mistake_ : Mistake::none;
        const char *feed = mistake == Mistake::fed_ahead_of_zone ? "u" : "z";
        const std::string p1 = net(feed, 1), motor = own("M"), stop_button = own("SH"), held = own("d"),
                          line = own("e");
        const bool selector = mistake == Mistake::selector_instead_of_holding;
        device(own("FC"), DeviceKind::fuse, {{"1", p1}, {"2", own("a")}}, {{"rating_a", 2.0}});
        device(own("FM"), DeviceKind::overload,
               {{"1", own("s")},
                {"2", own("t")},
                {"3", own("v")},
                {"4", own("w")},
                {"5", own("x")},
                {"6", own("y")},
                {"95", own("a")},
                {"96", own("b")}},
               {{"reset", std::string("manual")}});
        device(stop_button, DeviceKind::push_button, {{"11", own("b")}, {"12", held}}, role("stop"));
        if (selector)
            device(own("SA"), DeviceKind::selector, {{"13", held}, {"14", line}});
        else
            device(own("S"), DeviceKind::push_button,
                   {{"13", mistake == Mistake::start_ahead_of_own_stop ? own("b") : held}, {"14", line}},
                   role("start"));
        std::vector<Connection> contactor{{"A1", line},        {"A2", "N"},     {"1", p1},           {"2", own("s")},
                                          {"3", net(feed, 2)}, {"4", own("v")}, {"5", net(feed, 3)}, {"6", own("x")}};
        if (!selector) {
            contactor.push_back({"13", mistake == Mistake::holding_ahead_of_own_stop ? own("b") : held});
            contactor.push_back({"14", line});
        }
        device(own("K"), DeviceKind::contactor, contactor, coil);
        device(motor, DeviceKind::motor_3ph, {{"U", own("t")}, {"V", own("w")}, {"W", own("y")}});

        std::vector<std::string> stops{stop_button};
        for (std::size_t i = 1; i <= stops_an_area; ++i)
            stops.push_back(stop(i));
        for (std::size_t i = 1; i <= site_stops; ++i)
            stops.push_back("ES" + std::to_string(i));
        for (const std::string &each : stops)
            campus_.asked.push_back({each, motor, Asked::cut});

        switch (mistake) {
        case Mistake::holding_ahead_of_own_stop:
            expect("stop-cuts", stop_button, motor);
            break;
        case Mistake::fed_ahead_of_zone:
            for (std::size_t i = 1; i < stops.size(); ++i)
                expect("stop-cuts", stops[i], motor);
            break;
        case Mistake::start_ahead_of_own_stop:
            expect("stop-beats-start", stop_button, motor);
            break;
        case Mistake::selector_instead_of_holding:
            // No holding contact: letting go of the momentary stop, or turning the zone key, runs the machine again.
            expect("release-return", stop_button, motor);
            expect("release-return", net("SK"), motor);
            // With L1 lost a neighbour that runs on two lines feeds half its volts back to the area, where KM may stay
            // in and the selector's contactor cannot come in: L1 back, it starts.
            expect("power-return", "G0:L1", motor);
            break;
        case Mistake::none:
        case Mistake::zone_held_ahead_of_chain:
            break;
        }
    }

    Campus &campus_;
    Circuit &circuit_;
    std::vector<std::vector<Connection>> &site_;
    std::size_t number_;
    Mistake mistake_;
};

} // namespace

Campus make_campus(std::size_t machines, bool with_mistakes) {
    if (machines == 0 || machines % machines_an_area != 0)
        throw std::invalid_argument("the campus has ten machines an area; give a multiple of ten");
    static constexpr std::array kinds{Mistake::holding_ahead_of_own_stop, Mistake::fed_ahead_of_zone,
                                      Mistake::zone_held_ahead_of_chain, Mistake::start_ahead_of_own_stop,
                                      Mistake::selector_instead_of_holding};
    Campus campus;
    const std::vector<Connection> poles{{"L1", "L1"}, {"L2", "L2"}, {"L3", "L3"}, {"N", "N"}};
    campus.circuit.add("G0", DeviceKind::mains_3ph, poles);
    std::vector<std::vector<Connection>> site(site_stops);
    for (std::size_t area = 1; area <= machines / machines_an_area; ++area) {
        const bool wrong = with_mistakes && area % 10 == 1;
        Area(campus, site, area, wrong ? kinds[area / 10 % kinds.size()] : Mistake::none).add();
    }
    for (std::size_t i = 0; i < site_stops; ++i)
        campus.circuit.add("ES" + std::to_string(i + 1), DeviceKind::emergency_stop, site[i]);
    return campus;
}

} // namespace stopspan::bench
