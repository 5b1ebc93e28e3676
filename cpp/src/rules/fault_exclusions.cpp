#include "rules/find.hpp"
#include "stopspan/rules.hpp"

#include <array>

namespace stopspan {

// What is not here may never be left out by this standard: an open circuit of a conductor, a contact of a switch that
// does not close, a contactor or relay that stays in or welds, an overload that does not trip.
std::span<const FaultExclusion> fault_exclusions() {
    static constexpr std::array<FaultExclusion, 6> table{{
        {"shorts-in-enclosure", "single-fault",
         "shorts between conductors that come together only inside an electrical enclosure",
         "the enclosure is to IEC 60204-1, the terminals are to their standards and keep adjacent ends apart, and "
         "contactors, relays, timers, stop relays, fuses, overloads, transformers and DC supplies stand in it",
         "ISO 13849-2:2012 annex D, tables D.4 and D.6"},
        {"shorts-in-protected-cables", "single-fault",
         "shorts between conductors outside of enclosures, where shorts-in-enclosure leaves out those inside",
         "the cables are connected for good and protected against damage from outside (duct, armour), or each "
         "conductor "
         "has a shield of its own joined to earth",
         "ISO 13849-2:2012 annex D, table D.4"},
        {"shorts-between-cables", "single-fault",
         "shorts between conductors outside of enclosures that go to no device together, likewise",
         "each device outside of an enclosure is wired by a multicore cable of its own",
         "ISO 13849-2:2012 annex D, table D.4"},
        {"contact-will-not-open", "single-fault", "stop devices whose break contact stays closed as they are actuated",
         "the contacts have direct opening action to IEC 60947-5-1 annex K; a contact block that comes off is not left "
         "out",
         "ISO 13849-2:2012 annex D, table D.8"},
        {"emergency-stop-mechanics", "single-fault", "emergency stops that jam or whose contact blocks come off",
         "the devices are to IEC 60947-5-5 with direct opening action, within the permitted number of operations",
         "ISO 13849-2:2012 annex D, table D.8"},
        {"earth-faults-in-enclosure", "earth-fault", "earth faults of nets that stay inside an electrical enclosure",
         "the enclosure is to IEC 60204-1, and contactors, relays, timers, stop relays, fuses, overloads, transformers "
         "and DC supplies stand in it",
         "ISO 13849-2:2012 annex D, table D.4"},
    }};
    return table;
}

const FaultExclusion &fault_exclusion(std::string_view id) {
    return find_entry(fault_exclusions(), &FaultExclusion::id, id, "fault exclusion");
}

} // namespace stopspan
