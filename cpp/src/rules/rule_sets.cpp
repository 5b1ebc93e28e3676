#include "rules/find.hpp"
#include "stopspan/rules.hpp"

#include <array>

namespace stopspan {
namespace {

using Source = std::pair<std::string_view, std::string_view>;

constexpr std::string_view international = "international";
constexpr std::string_view international_edition =
    "IEC 60204-1:2016, ISO 13850:2015, ISO 13849-1:2015, ISO 13849-2:2012, ISO 14118, IEC 60947-4-1:2018";
constexpr std::string_view read_in = "clauses as handbooks and makers reproduce them; look them up in the standards";

constexpr std::array<std::string_view, 3> stops{"stop-cuts", "stop-spares", "stop-beats-start"};
constexpr std::array<std::string_view, 4> returns{"power-return", "release-return", "trip-return", "own-start"};

// The regulations of 1998 ask for the same as the directive 2009/104/EC, annex I.
constexpr std::array<Source, 12> united_kingdom{{
    {"stop-cuts",
     "PUWER 1998 regulations 15 and 16; BS EN 60204-1:2018 9.2.3.3 and 9.2.3.4.2; BS EN ISO 13850:2015 4.1.1"},
    {"stop-spares", "BS 4163:2007 (lighting, fume extraction and alarms stay on); BS EN ISO 13850:2015 4.1.2"},
    {"stop-beats-start", "PUWER 1998 regulations 15 and 16; BS EN 60204-1:2018 9.2.3.3; BS EN ISO 13850:2015 4.1.1"},
    {"power-return", "PUWER 1998 regulation 14; BS EN 60204-1:2018 7.5"},
    {"release-return", "PUWER 1998 regulation 14; BS EN ISO 13850:2015 4.1.4"},
    {"trip-return", "PUWER 1998 regulation 14; BS EN 60204-1:2018 7.3.1 and 5.4"},
    {"own-start", "PUWER 1998 regulation 14; BS EN 60204-1:2018 9.2.3.2"},
    {"isolator-clears", "PUWER 1998 regulation 19; BS EN 60204-1:2018 5.3 and 5.3.5"},
    {"single-fault",
     "PUWER 1998 regulation 18; BS EN ISO 13849-1:2015 6.2; fault list of BS EN ISO 13849-2:2012 annex D"},
    {"hidden-fault",
     "PUWER 1998 regulation 18; BS EN ISO 13849-1:2015 6.2.6 and 6.2.7; fault list of BS EN ISO 13849-2:2012 annex D"},
    {"stop-reach", "BS EN ISO 13850:2015 4.3.2; BS EN 60204-1:2018 10.1.2; BS 4163:2007 (readily accessible, evenly "
                   "distributed, about 1.5 m high); walking distances: common practice (assumption: no standard has a "
                   "figure)"},
    {"stop-time", "PUWER 1998 regulation 15; HSE information sheet WIS 38 (woodworking: 10 s)"},
}};

} // namespace

std::span<const RuleSet> rule_sets() {
    static constexpr std::array<RuleSet, 4> table{{
        {"all", "every rule", international, international_edition, read_in, {}, {}, {}},
        {"stops", "what stops cut", international, international_edition, read_in, stops, {}, {}},
        {"returns", "what starts by itself", international, international_edition, read_in, returns, {}, {}},
        {"uk",
         "every rule, by law and standards of the United Kingdom",
         "United Kingdom",
         "PUWER 1998, BS EN 60204-1:2018, BS EN ISO 13850:2015, BS EN ISO 13849-1:2015, BS EN ISO 13849-2:2012, BS "
         "4163:2007; where these are silent as the set 'all'",
         "regulations by parallel law, clauses as handbooks and makers reproduce them; look them up in the originals",
         {},
         united_kingdom,
         {}},
    }};
    return table;
}

const RuleSet &rule_set(std::string_view id) {
    return find_entry(rule_sets(), &RuleSet::id, id, "rule set");
}

std::string_view RuleSet::source_of(std::string_view rule) const {
    for (const auto &[id_of_rule, own] : sources)
        if (id_of_rule == rule)
            return own;
    return rule_info(rule).source;
}

double RuleSet::limit(std::string_view name) const {
    for (const auto &[limit_name, own] : limits)
        if (limit_name == name)
            return own;
    return limit_info(name).value;
}

} // namespace stopspan
