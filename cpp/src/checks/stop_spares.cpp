#include "checks/machine_search.hpp"

namespace stopspan {

// A stop that is asked to keep a machine leaves it running.
void judge_stop_spares(MachineSearch &search, const Exploration::Transition &t) {
    const Act &act = search.act(t);
    if (act.kind != ActKind::press)
        return;
    const Context &context = search.context();
    const std::string &machine = search.machine().name;
    for (const std::uint32_t member : search.members(act)) {
        if (context.stop_of[member] == none)
            continue;
        const std::string &stop = context.stops[context.stop_of[member]].name;
        if (asked_of(search.machine().asked, context.stop_of[member]) != Asked::keep ||
            search.glimpse(t.from).runs != Tri::on || !supply_healthy(search.cone().circuit, search.state(t.from)))
            continue;
        std::size_t off = 0, uncertain = 0;
        for (const std::uint32_t end : t.to) {
            const Tri after = search.glimpse(end).runs;
            off += after == Tri::off;
            uncertain += after == Tri::maybe;
        }
        if (off + uncertain > 0 && (off == t.to.size() || !search.drifts(t.from)))
            search.record("stop-spares", stop, off == t.to.size() ? Status::fails : Status::maybe, t,
                          machine + (off == t.to.size() ? " stopped" : " may have stopped"), member,
                          search.glimpse(t.from).mode);
    }
}

} // namespace stopspan
