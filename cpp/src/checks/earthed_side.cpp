#include "checks/fact_text.hpp"
#include "checks/long_wires.hpp"
#include "checks/machine_check.hpp"

#include "base/words.hpp"

#include <algorithm>

namespace stopspan {
namespace {

const std::string earthed_side_rule = "earthed-side";

// The way from a coil to the earthed pole of a source, over wires and contacts.
class EarthedSide {
public:
    explicit EarthedSide(const Context &context)
        : context_(context), compiled_(context.compiled), earthed_(compiled_.net_count, none) {
        for (const std::uint32_t i : long_wires(context.circuit, compiled_)) {
            const Impedance &wire = compiled_.impedances[i];
            wires_at_[wire.a].push_back(wire.b);
            wires_at_[wire.b].push_back(wire.a);
        }
        for (std::uint32_t s = 0; s < compiled_.sources.size(); ++s)
            if (compiled_.sources[s].earthed != none)
                earthed_[compiled_.sources[s].poles[compiled_.sources[s].earthed].net] = s;
    }

    Decided decide() {
        for (const Armature &armature : compiled_.armatures) {
            if (armature.kind == Armature::Kind::monitor)
                continue;
            decided_.device = armature.device;
            for (const auto &[one, other] : {std::pair{armature.a1, armature.a2}, {armature.e1, armature.e2}})
                if (one != none)
                    decide_coil(armature, one, other);
        }
        return std::move(decided_);
    }

private:
    struct Way {
        std::uint32_t source = none;         ///< whose earthed pole it ends at
        std::vector<std::uint32_t> contacts; ///< on the way with the fewest of them, from the coil
        std::vector<std::uint32_t> nets;     ///< from the pole to the coil
    };

    void decide_coil(const Armature &armature, std::uint32_t one, std::uint32_t other) {
        for (const auto &[from, away] : {std::pair{one, other}, {other, one}})
            if (way_from(from, away, 0).source != none) {
                decided_.count(earthed_side_rule, "holds");
                return;
            }
        constexpr std::size_t any = 1000;
        const Way first = way_from(one, other, any), second = way_from(other, one, any);
        if (first.source == none && second.source == none)
            return; // it hangs between two lines, or on a source without an earthed pole
        const auto rank = [](const Way &way) { return std::pair{way.source == none, way.contacts.size()}; };
        const Way &way = rank(second) < rank(first) ? second : first;
        std::vector<std::string> subjects{compiled_.device_names[armature.device]}, between;
        for (const std::uint32_t i : way.contacts) {
            between.push_back(contact_text(context_.circuit, compiled_.switches[i]));
            const std::string &designation = compiled_.device_names[compiled_.switches[i].device];
            if (std::find(subjects.begin(), subjects.end(), designation) == subjects.end())
                subjects.push_back(designation);
        }
        std::vector<std::string> path;
        for (const std::uint32_t net : way.nets)
            path.push_back(compiled_.net_names[net]);
        path.push_back("coil of " + subjects[0]);
        const Source &source = compiled_.sources[way.source];
        decided_.add({.rule = earthed_side_rule,
                      .status = Status::fails,
                      .subjects = subjects,
                      .text = "Between the coil of " + subjects[0] + " and the earthed pole " +
                              source.poles[source.earthed].name + " of " + compiled_.device_names[source.device] +
                              " stand " + listed(between) + ": an earth fault ahead of them bridges them.",
                      .witness = {{}, path, "contacts on the earthed side"}});
    }

    /// Nets that long wires join to this one.
    const std::vector<std::uint32_t> &over_wires(std::uint32_t net) const {
        static const std::vector<std::uint32_t> nothing;
        const auto found = wires_at_.find(net);
        return found == wires_at_.end() ? nothing : found->second;
    }

    // What this is a contact of opens the way from the coil's other end to every line together with it: an isolator, or
    // a stop that opens line and neutral.
    bool opens_the_line_too(const Switch &here, std::uint32_t other) const {
        if (compiled_.variables[here.variable].kind == Variable::Kind::fuse)
            return false;
        return meets_a_line(other, nullptr) && !meets_a_line(other, &here);
    }

    // Contacts, all closed but those that open with this one, lead to a pole that is not earthed.
    bool meets_a_line(std::uint32_t start, const Switch *open) const {
        std::set<std::uint32_t> seen{start};
        std::vector<std::uint32_t> queue{start};
        const auto arrive = [&](std::uint32_t net) {
            if (seen.insert(net).second)
                queue.push_back(net);
        };
        for (std::size_t k = 0; k < queue.size(); ++k) {
            if (context_.relevance.is_pole_net(queue[k])) {
                if (earthed_[queue[k]] == none && queue[k] != compiled_.earth)
                    return true;
                continue;
            }
            for (const std::uint32_t i : context_.lookup.switches_at[queue[k]]) {
                const Switch &contact = compiled_.switches[i];
                if (contact.closed_at == 0 ||
                    (open && contact.variable == open->variable && contact.closed_at == open->closed_at))
                    continue;
                arrive(contact.a == queue[k] ? contact.b : contact.a);
            }
            for (const std::uint32_t net : over_wires(queue[k]))
                arrive(net);
        }
        return false;
    }

    // Net by net over wires first, then over one contact more, up to so many.
    Way way_from(std::uint32_t start, std::uint32_t other, std::size_t most_contacts) const {
        struct Step {
            std::uint32_t net, before, contact;
        };
        std::map<std::uint32_t, Step> came; // by net
        std::vector<Step> layer{{start, none, none}}, next;
        for (std::size_t contacts = 0; contacts <= most_contacts && !layer.empty(); ++contacts) {
            for (std::size_t k = 0; k < layer.size(); ++k) {
                const Step step = layer[k];
                if (!came.emplace(step.net, step).second)
                    continue;
                if (earthed_[step.net] != none)
                    return told(came, step.net);
                if (context_.relevance.is_pole_net(step.net))
                    continue;
                for (const std::uint32_t i : context_.lookup.switches_at[step.net]) {
                    const Switch &contact = compiled_.switches[i];
                    const std::uint32_t far = contact.a == step.net ? contact.b : contact.a;
                    if (contact.closed_at == 0 || came.contains(far))
                        continue;
                    if (contact.variable == none || opens_the_line_too(contact, other))
                        layer.push_back({far, step.net, none});
                    else
                        next.push_back({far, step.net, i});
                }
                for (const std::uint32_t far : over_wires(step.net))
                    if (!came.contains(far))
                        layer.push_back({far, step.net, none});
            }
            layer = std::move(next);
            next.clear();
        }
        return {};
    }

    template <class Steps>
    Way told(const Steps &came, std::uint32_t end) const {
        Way way;
        way.source = earthed_[end];
        for (std::uint32_t net = end; net != none; net = came.at(net).before) {
            way.nets.push_back(net);
            if (came.at(net).contact != none)
                way.contacts.push_back(came.at(net).contact);
        }
        std::reverse(way.contacts.begin(), way.contacts.end());
        return way;
    }

    const Context &context_;
    const Compiled &compiled_;
    std::vector<std::uint32_t> earthed_;                           ///< per net: source whose earthed pole stands there
    std::map<std::uint32_t, std::vector<std::uint32_t>> wires_at_; ///< per net
    Decided decided_;
};

} // namespace

// In control circuits of a source with an earthed pole no contact, fuse or switch stands between a coil and that pole.
Decided decide_earthed_side(const Context &context) {
    return EarthedSide(context).decide();
}

} // namespace stopspan
