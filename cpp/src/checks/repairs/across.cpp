#include "checks/repairs/across.hpp"

#include <boost/pending/disjoint_sets.hpp>

#include <algorithm>

namespace stopspan {
namespace {

class AcrossSupplies {
public:
    explicit AcrossSupplies(const Context &context)
        : context_(context), compiled_(context.compiled), joined_(compiled_.net_count), pole_(compiled_.net_count, 0) {
        const State cold = compiled_.cold();
        for (const Switch &contact : compiled_.switches)
            if (contact.closed(cold))
                joined_.union_set(contact.a, contact.b);
        for (const Source &source : compiled_.sources)
            if (source.earthed != none && source.poles[source.earthed].net != none)
                joined_.union_set(source.poles[source.earthed].net, compiled_.earth);
        for (const Source &source : compiled_.sources)
            for (const Source::Pole &pole : source.poles)
                if (pole.net != none)
                    pole_[joined_.find_set(pole.net)] = 1;
        for (const Impedance &one : compiled_.impedances)
            if (const DeviceKind kind = kind_of(one);
                kind == DeviceKind::resistor || kind == DeviceKind::capacitor || kind == DeviceKind::cable)
                passive_.push_back(&one);
    }

    std::set<std::string> found() {
        std::set<std::string> names;
        for (const Impedance *one : passive_)
            if (kind_of(*one) != DeviceKind::cable && between_poles(*one))
                names.insert(compiled_.device_names[one->device]);
        return names;
    }

private:
    DeviceKind kind_of(const Impedance &one) const { return context_.circuit.devices()[one.device].kind; }

    bool between_poles(const Impedance &one) {
        const std::set<std::size_t> ahead = poles_from(one.a, one), behind = poles_from(one.b, one);
        return !ahead.empty() && !behind.empty() && (ahead.size() > 1 || behind.size() > 1 || ahead != behind);
    }

    // Through what conducts besides that one, up to the first pole.
    std::set<std::size_t> poles_from(std::uint32_t net, const Impedance &besides) {
        std::set<std::size_t> seen{joined_.find_set(net)}, poles;
        std::vector<std::size_t> queue(seen.begin(), seen.end());
        while (!queue.empty()) {
            const std::size_t at = queue.back();
            queue.pop_back();
            if (pole_[at]) {
                poles.insert(at);
                continue;
            }
            for (const Impedance *other : passive_)
                for (const auto &[from, to] : {std::pair{other->a, other->b}, {other->b, other->a}})
                    if (other != &besides && joined_.find_set(from) == at && seen.insert(joined_.find_set(to)).second)
                        queue.push_back(joined_.find_set(to));
        }
        return poles;
    }

    const Context &context_;
    const Compiled &compiled_;
    boost::disjoint_sets_with_storage<> joined_;
    std::vector<std::uint8_t> pole_; ///< per set of nets that contacts join
    std::vector<const Impedance *> passive_;
};

} // namespace

std::set<std::string> across_supplies(const Context &context) {
    return AcrossSupplies(context).found();
}

} // namespace stopspan
