#include "stopspan/rules.hpp"

#include "rules/find.hpp"

#include <array>

namespace stopspan {

std::span<const RuleInfo> rules() {
    // Sources: clause texts are paraphrased; a standard is named where the rule comes from it.
    static constexpr std::array<RuleInfo, 20> table{{
        {"stop-cuts", "each stop device alone takes power off every machine of its span, from every way of running",
         "IEC 60204-1:2016 9.2.3.3 and 9.2.3.4.2; ISO 13850:2015 4.1.1"},
        {"stop-spares", "a stop device cuts no kept load and nothing it is asked to keep",
         "ISO 13850:2015 4.1.2 (span of control); common practice"},
        {"stop-beats-start", "with a stop active nothing starts a machine of its span or keeps it running",
         "IEC 60204-1:2016 9.2.3.3; ISO 13850:2015 4.1.1"},
        {"power-return", "nothing starts when a source comes back", "IEC 60204-1:2016 7.5"},
        {"release-return", "releasing a stop device or resetting its zone starts nothing", "ISO 13850:2015 4.1.4"},
        {"trip-return", "an overload cooling or reset, an isolator closed, a fuse replaced starts nothing",
         "IEC 60204-1:2016 7.3.1 and 5.4"},
        {"own-start", "a start device starts its own machine only; nothing else starts one",
         "IEC 60204-1:2016 9.2.3.2; ISO 14118"},
        {"overload-cuts", "each overload's trip takes power off the motor whose current it carries",
         "IEC 60204-1:2016 7.3.2"},
        {"interlock-holds", "contactors that would short a source or join two run modes are never in together",
         "IEC 60204-1:2016 9.3.4"},
        {"isolator-clears", "with an isolator open nothing behind it is live or runs",
         "IEC 60204-1:2016 5.3 and 5.3.5"},
        {"one-origin", "no net is ever fed from two sources, and no load returns through another's isolator or fuse",
         "common practice (borrowed neutral); IEC 60204-1:2016 5.3.5"},
        {"coil-volts", "every coil gets the volts to pull in over its loop and loses what would hold it after a stop",
         "IEC 60947-4-1:2018 8.2.1.2"},
        {"earthed-side", "no contact, fuse or switch stands between a coil and the earthed pole of its source",
         "IEC 60204-1:2016 9.4.3.1"},
        {"earth-fault", "one earth fault in a control circuit loses no stop and starts nothing",
         "IEC 60204-1:2016 9.4.3.1"},
        {"single-fault", "what each fault of one part takes away: stops, trips, the certainty that nothing starts",
         "ISO 13849-1:2015 6.2; fault list of ISO 13849-2:2012 annex D"},
        {"hidden-fault",
         "what a second fault takes away after a first one that shows nowhere: stops, trips, the certainty that "
         "nothing "
         "starts",
         "ISO 13849-1:2015 6.2.6 and 6.2.7; fault list of ISO 13849-2:2012 annex D"},
        {"contact-race", "the result does not depend on contact timing", "common practice"},
        {"chatter", "armatures come to rest", "common practice"},
        {"stop-reach", "a stop that cuts is near every machine and exit, at a height a hand reaches",
         "ISO 13850:2015 4.3.2 (where stops stand, height); IEC 60204-1:2016 10.1.2 (height); walking distances: "
         "common "
         "practice (assumption: no standard has a figure)"},
        {"stop-time", "a machine stands soon after a stop, and no stop starves the brake of a drive",
         "HSE information sheet WIS 38 (woodworking: 10 s); IEC 60204-1:2016 9.2.2 (stop categories)"},
    }};
    return table;
}

const RuleInfo &rule_info(std::string_view id) {
    return find_entry(rules(), &RuleInfo::id, id, "rule");
}

} // namespace stopspan
