#include "checks/crossings.hpp"

#include "base/add_unique.hpp"
#include "checks/long_wires.hpp"
#include "checks/owners.hpp"

#include <boost/pending/disjoint_sets.hpp>

#include <algorithm>

namespace stopspan {
namespace {

// More source nets on one piece of circuit than any has that is worth a check of its own.
constexpr std::size_t most_poles = 24;

class Crossing {
public:
    Crossing(const Circuit &circuit, const Compiled &compiled)
        : circuit_(circuit), compiled_(compiled), at_source_(compiled.net_count, 0), at_power_(compiled.net_count, 0) {}

    Crossings find() {
        find_source_nets();
        for (const Switch &contact : compiled_.switches) {
            out_.odd |= at_source_[contact.a] && at_source_[contact.b];
            if (contact.pole)
                at_power_[contact.a] = at_power_[contact.b] = 1;
        }
        look_at_loops();
        pieces([](const Switch &) { return true; }, at_source_, true, [&](const Piece &piece) { add_pairs(piece); });
        pieces([](const Switch &) { return true; }, at_source_, false,
               [&](const Piece &piece) { look_at_joined(piece); });
        for (std::size_t net = 0; net < at_power_.size(); ++net)
            at_power_[net] |= at_source_[net];
        pieces([](const Switch &contact) { return !contact.pole; }, at_power_, false,
               [&](const Piece &piece) {
                   out_.odd |= piece.poles.size() > 1; // control contacts that short a source
               });
        out_.long_wires = static_cast<long>(long_wires(circuit_, compiled_).size());
        return std::move(out_);
    }

private:
    struct Piece {
        std::vector<std::uint32_t> poles; ///< nets of sources
        std::uint32_t device = none;      ///< one of it, no stop device
    };

    void find_source_nets() {
        at_source_[compiled_.earth] = 1;
        std::vector<std::uint8_t> unfed(compiled_.net_count, 0);
        unfed[compiled_.earth] = 1;
        for (const Source &source : compiled_.sources)
            for (const Source::Pole &pole : source.poles) {
                at_source_[pole.net] = 1;
                unfed[pole.net] |= source.feed == Source::Feed::own;
            }
        line_of_.assign(compiled_.net_count, none);
        std::vector<std::uint8_t> poles(compiled_.net_count, 0);
        for (std::uint32_t s = 0; s < compiled_.sources.size(); ++s) {
            const Source &source = compiled_.sources[s];
            const std::size_t back = source.earthed == none ? source.poles.size() - 1 : source.earthed;
            for (std::size_t p = 0; p < source.poles.size(); ++p) {
                const std::uint32_t net = source.poles[p].net;
                out_.odd |= source.feed != Source::Feed::own && unfed[net];
                line_of_[net] = poles[net] || p == back ? none : s;
                poles[net] = 1;
            }
        }
    }

    void look_at_loops() {
        const auto loop = [&](const std::pair<std::uint32_t, std::uint32_t> &ends) {
            out_.odd |= ends.first != none && ends.second != none && at_source_[ends.first] && at_source_[ends.second];
        };
        for (const MotorSeen &motor : compiled_.motors) {
            loop(motor.run);
            loop(motor.torque_off);
            out_.has_loops |= motor.torque_off.first != none;
        }
        for (const Armature &armature : compiled_.armatures) {
            std::for_each(armature.inputs.begin(), armature.inputs.end(), loop);
            loop(armature.reset);
            loop(armature.feedback);
            out_.has_loops |= armature.kind == Armature::Kind::stop_relay;
        }
    }

    // Shows every piece of circuit that ends at these nets.
    template <class Counts, class See>
    void pieces(const Counts &counts, const std::vector<std::uint8_t> &ends, bool loads, const See &see) {
        boost::disjoint_sets_with_storage<> joined(compiled_.net_count);
        const auto edges = [&](const auto &visit) {
            for (const Switch &contact : compiled_.switches)
                if (counts(contact))
                    visit(contact.a, contact.b, contact.device);
            if (loads)
                for (const Impedance &load : compiled_.impedances)
                    visit(load.a, load.b, load.device);
        };
        edges([&](std::uint32_t a, std::uint32_t b, std::uint32_t) {
            if (!ends[a] && !ends[b])
                joined.union_set(a, b);
        });
        std::vector<std::uint32_t> piece_of(compiled_.net_count, none);
        std::vector<Piece> found;
        edges([&](std::uint32_t a, std::uint32_t b, std::uint32_t device) {
            const std::uint32_t inside = !ends[a] ? a : b;
            if (ends[inside]) { // from one end straight to another
                if (at_source_[a] && at_source_[b] && a != b)
                    see(Piece{{a, b}, device});
                return;
            }
            std::uint32_t &piece = piece_of[joined.find_set(inside)];
            if (piece == none) {
                piece = static_cast<std::uint32_t>(found.size());
                found.emplace_back();
            }
            for (const std::uint32_t net : {a, b})
                if (at_source_[net] && found[piece].poles.size() <= most_poles)
                    add_unique(found[piece].poles, net);
            if (found[piece].device == none && !is_stop_device(circuit_.devices()[device]))
                found[piece].device = device;
        });
        for (const Piece &piece : found)
            if (piece.poles.size() > 1)
                see(piece);
    }

    template <class See>
    void for_pairs(const Piece &piece, const See &see) {
        out_.odd |= piece.poles.size() > most_poles;
        for (std::size_t i = 0; i < piece.poles.size(); ++i)
            for (std::size_t j = i + 1; j < piece.poles.size(); ++j)
                see(piece.poles[i], piece.poles[j]);
    }

    void add_pairs(const Piece &piece) {
        for_pairs(piece, [&](std::uint32_t a, std::uint32_t b) {
            auto &between = out_.between[std::minmax(compiled_.net_names[a], compiled_.net_names[b])];
            ++between.count;
            if (between.devices.size() > 1) // the first and the last: they stand far apart
                between.devices.pop_back();
            if (piece.device != none)
                between.devices.push_back(piece.device);
        });
    }

    // What a source feeds is not asked beyond its own line poles.
    void look_at_joined(const Piece &piece) {
        for_pairs(piece, [&](std::uint32_t a, std::uint32_t b) {
            const bool lines = line_of_[a] != none && line_of_[a] == line_of_[b];
            out_.joined_lines += lines;
            out_.odd |= !lines;
        });
    }

    const Circuit &circuit_;
    const Compiled &compiled_;
    std::vector<std::uint8_t> at_source_, at_power_; ///< per net
    /// Per net the source whose pole alone stands there, neither earthed nor its last when none is.
    std::vector<std::uint32_t> line_of_;
    Crossings out_;
};

} // namespace

Crossings crossings_of(const Circuit &circuit, const Compiled &compiled) {
    return Crossing(circuit, compiled).find();
}

} // namespace stopspan
