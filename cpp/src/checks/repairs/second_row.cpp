#include "checks/repairs/second_row.hpp"

#include "base/words.hpp"
#include "checks/repairs/surroundings.hpp"
#include "checks/repairs/wiring.hpp"
#include "circuit/kinds.hpp"
#include "switching/dead_ends.hpp"

#include <algorithm>
#include <map>
#include <numeric>

namespace stopspan {
namespace {

constexpr std::size_t most_twins = 4;

bool has_row(const Device &device) {
    return (device.kind == DeviceKind::contactor || device.kind == DeviceKind::relay) && has_coil(device);
}

// What more blocks can be had of.
bool takes_blocks(DeviceKind kind) {
    return is_actuator(kind) || kind == DeviceKind::contactor || kind == DeviceKind::relay ||
           kind == DeviceKind::isolator;
}

/// A contact, fuse or link.
struct Way {
    const Device *device;
    Contact block;
    Net a, b;
    Net other(Net net) const { return net == a ? b : a; }
};

class Rows {
public:
    explicit Rows(const Circuit &circuit) : circuit_(circuit), around_(circuit), at_(circuit.nets().size()) {
        for (const Device &device : circuit.devices()) {
            for (const Contact &contact : contacts_of(device))
                if (contact.sense != ContactSense::pole)
                    add(device, contact);
            if (device.kind == DeviceKind::fuse || device.kind == DeviceKind::link)
                add(device, {"1", "2", ContactSense::pole});
        }
    }

    const Way &way(std::size_t index) const { return ways_[index]; }
    bool feed(Net net) const { return around_.in_power(net); }

    /// Ways of a coil's row, from the coil back to its feed; empty where it is fed straight.
    std::vector<std::size_t> of(const Device &coil) const {
        const Net start = coil.net_of("A1")->value;
        if (feed(start))
            return {};
        const std::vector<Net> reached = reach(start);
        if (std::none_of(reached.begin(), reached.end(), [&](Net net) { return feed(net); }))
            return {};
        // No way to the coil leads through what hangs on one net, seen from all that feeds it and the coil beyond.
        std::vector<std::uint32_t> vertex(circuit_.nets().size(), 0); // 0: where power is fed
        std::uint32_t vertices = 1;
        for (const Net net : reached)
            if (!feed(net))
                vertex[net] = vertices++;
        std::vector<std::pair<std::uint32_t, std::uint32_t>> edges{{0, vertex[start]}};
        for (const Net net : reached)
            if (!feed(net))
                for (const std::size_t i : at_[net])
                    if (ways_[i].a != ways_[i].b)
                        edges.emplace_back(vertex[net], vertex[ways_[i].other(net)]);
        const std::vector<std::uint32_t> stands = without_dead_ends(vertices, edges, 0);
        const auto hangs = [&](Net net) { return stands[vertex[net]] != vertex[net]; };
        std::vector<std::size_t> row;
        for (const Net net : reached)
            if (!feed(net) && !hangs(net))
                for (const std::size_t i : at_[net])
                    if (!hangs(ways_[i].other(net)) && ways_[i].a != ways_[i].b &&
                        std::find(row.begin(), row.end(), i) == row.end())
                        row.push_back(i);
        return row;
    }

private:
    void add(const Device &device, const Contact &block) {
        const Net a = device.net_of(block.first)->value, b = device.net_of(block.second)->value;
        at_[a].push_back(ways_.size());
        at_[b].push_back(ways_.size());
        ways_.push_back({&device, block, a, b});
    }

    // Not on from where power is fed.
    std::vector<Net> reach(Net start) const {
        std::vector<Net> nets{start};
        std::set<Net> met{start};
        for (std::size_t k = 0; k < nets.size(); ++k)
            if (!feed(nets[k]))
                for (const std::size_t i : at_[nets[k]])
                    if (const Net next = ways_[i].other(nets[k]); met.insert(next).second)
                        nets.push_back(next);
        return nets;
    }

    const Circuit &circuit_;
    Surroundings around_;
    std::vector<Way> ways_;
    std::vector<std::vector<std::size_t>> at_; ///< per net
};

// Names of the nets of a second row: a net that is fed stays the same, and so do both ends of what is left out.
class SecondNets {
public:
    SecondNets(const Circuit &circuit, const Circuit &names, const Rows &rows)
        : circuit_(circuit), names_(names), rows_(rows), joined_(circuit.nets().size()) {
        std::iota(joined_.begin(), joined_.end(), 0);
    }
    void join(Net a, Net b) {
        a = root(a);
        b = root(b);
        if (rows_.feed(b))
            std::swap(a, b);
        joined_[b] = a;
    }
    std::string of(Net net) {
        const std::string &name = circuit_.net_name(NetId{root(net)});
        if (rows_.feed(root(net)))
            return name;
        std::string second;
        for (int number = 2; second.empty() || names_.find_net(second); ++number)
            second = name + "/" + std::to_string(number);
        return second;
    }

private:
    Net root(Net net) const { return joined_[net] == net ? net : root(joined_[net]); }

    const Circuit &circuit_, &names_;
    const Rows &rows_;
    std::vector<Net> joined_;
};

} // namespace

std::vector<CoilRow> coil_rows(const Circuit &circuit) {
    const Rows rows(circuit);
    std::vector<CoilRow> found;
    for (const Device &device : circuit.devices()) {
        if (!has_row(device))
            continue;
        CoilRow row{device.designation, {}};
        for (const std::size_t i : rows.of(device))
            for (const Net net : {rows.way(i).a, rows.way(i).b})
                row.nets.insert(circuit.net_name(NetId{net}));
        if (!row.nets.empty())
            found.push_back(std::move(row));
    }
    return found;
}

std::vector<std::vector<std::string>> coils_between(const std::vector<CoilRow> &rows, const std::string &one,
                                                    const std::string &other) {
    std::vector<std::string> both, either;
    for (const CoilRow &row : rows) {
        const std::size_t nets = row.nets.count(one) + row.nets.count(other);
        if (nets == 2)
            both.push_back(row.coil);
        if (nets > 0)
            either.push_back(row.coil);
    }
    std::vector<std::vector<std::string>> found;
    const auto add = [&](std::vector<std::string> coils) {
        if (std::find(found.begin(), found.end(), coils) == found.end())
            found.push_back(std::move(coils));
    };
    for (const std::vector<std::string> &coils : {both, either}) {
        if (coils.empty() || coils.size() > most_twins)
            continue;
        for (const std::string &alone : coils) // the others may stand behind it
            add({alone});
        add(coils);
    }
    return found;
}

std::optional<SecondRow> second_row(const Circuit &circuit, const std::vector<std::string> &coils, Trips trips,
                                    const Circuit &names) {
    const Rows rows(circuit);
    SecondNets second(circuit, names, rows);
    std::map<std::string, std::string> twins; // per device
    for (const std::string &coil : coils)
        twins[coil] = free_name(names, coil, 'B');
    std::vector<std::size_t> ways;
    for (const std::string &coil : coils) {
        const std::vector<std::size_t> own = rows.of(circuit.at(coil));
        for (auto way = own.rbegin(); way != own.rend(); ++way)
            if (std::find(ways.begin(), ways.end(), *way) == ways.end())
                ways.push_back(*way);
    }
    bool overloads = false;
    for (const std::size_t i : ways)
        if (const Device &device = *rows.way(i).device; device.kind == DeviceKind::overload) {
            overloads = true;
            if (trips == Trips::both_rows)
                twins[device.designation] = free_name(names, device.designation, 'B');
        }
    if (trips == Trips::both_rows && !overloads)
        return std::nullopt;
    const auto left_out = [&](const Way &way) {
        return way.device->kind == DeviceKind::link ||
               (way.device->kind == DeviceKind::overload && trips == Trips::first_row);
    };
    for (const std::size_t i : ways)
        if (left_out(rows.way(i)))
            second.join(rows.way(i).a, rows.way(i).b);
    SecondRow found;
    std::map<std::string, Device> with_blocks;
    const auto block_of = [&](const Device &device, ContactSense sense) {
        Device &owner = with_blocks.try_emplace(device.designation, device).first->second;
        auto block = free_block(owner, sense);
        if (block)
            owner.terminals.push_back({block->first, NetId{0}});
        return block;
    };
    std::set<std::string>
        in_row; // of the first row: contacts of those that get a twin, which are to stand in the second
    for (const std::size_t i : ways) {
        const Way &way = rows.way(i);
        for (const Net net : {way.a, way.b})
            found.nets.emplace(circuit.net_name(NetId{net}), second.of(net));
        if (left_out(way))
            continue;
        SecondRow::Piece piece{way.device->designation, {}, way.block, second.of(way.a), second.of(way.b)};
        const bool known = way.block.sense == ContactSense::make || way.block.sense == ContactSense::break_;
        if (const auto twin = twins.find(piece.device); twin != twins.end()) {
            piece.device = twin->second;
            const bool holds = overloads && way.block.sense == ContactSense::make;
            if (!holds || trips == Trips::first_row)
                in_row.insert(contact_text(way.device->designation, way.block));
            if (holds) {
                const auto block = block_of(*way.device, ContactSense::make);
                if (!block)
                    return std::nullopt;
                if (trips == Trips::both_rows) {
                    piece.block = *block;
                    found.between.insert(circuit.net_name(*way.device->net_of(way.block.second)) + " behind " +
                                         way.device->designation + ":" + way.block.second);
                }
                const std::string between = piece.to + " behind " + piece.device + ":" + piece.block.second;
                found.between.insert(between);
                found.pieces.push_back({way.device->designation, {}, *block, between, piece.to});
                piece.to = between;
            }
        } else if (way.device->kind == DeviceKind::fuse) {
            piece.like = piece.device;
            piece.device = free_name(names, piece.like, 'B');
        } else if (known && takes_blocks(way.device->kind)) {
            const auto block = block_of(*way.device, way.block.sense);
            if (!block)
                return std::nullopt;
            piece.block = *block;
        } else {
            return std::nullopt;
        }
        if (piece.from == piece.to)
            return std::nullopt;
        found.pieces.push_back(std::move(piece));
    }
    for (const auto &[like, twin] : twins) {
        const Device &device = circuit.at(like);
        std::vector<Contact> contacts = contacts_to_double(device);
        std::erase_if(contacts,
                      [&](const Contact &each) { return in_row.contains(contact_text(device.designation, each)); });
        if (contacts.empty())
            return std::nullopt;
        const bool coil = device.kind != DeviceKind::overload;
        found.twins.push_back({twin, like, coil ? second.of(device.net_of("A1")->value) : std::string(),
                               coil ? circuit.net_name(*device.net_of("A2")) : std::string(), std::move(contacts)});
    }
    return found;
}

bool fits(const Circuit &circuit, const SecondRow &row) {
    const auto is_new = [&](const std::string &device) {
        return std::any_of(row.twins.begin(), row.twins.end(),
                           [&](const SecondRow::Twin &twin) { return twin.device == device; });
    };
    return std::all_of(
               row.twins.begin(), row.twins.end(),
               [&](const SecondRow::Twin &twin) { return circuit.find(twin.like) && !circuit.find(twin.device); }) &&
           std::all_of(row.pieces.begin(), row.pieces.end(), [&](const SecondRow::Piece &piece) {
               if (!piece.like.empty() || is_new(piece.device))
                   return !circuit.find(piece.device);
               const auto owner = circuit.find(piece.device);
               return owner && !circuit.device(*owner).net_of(piece.block.first);
           });
}

void apply(Circuit &circuit, const SecondRow &row) {
    for (const SecondRow::Twin &twin : row.twins) {
        const Device device = circuit.at(twin.like);
        std::vector<Connection> connections = in_series_behind(circuit, twin.like, twin.contacts);
        if (!twin.feed.empty()) {
            connections.push_back({"A1", twin.feed});
            connections.push_back({"A2", twin.back});
        }
        for (const SecondRow::Piece &piece : row.pieces)
            if (piece.device == twin.device) {
                connections.push_back({piece.block.first, piece.from});
                connections.push_back({piece.block.second, piece.to});
            }
        circuit.add(twin.device, device.kind, connections, device.parameters);
    }
    for (const SecondRow::Piece &piece : row.pieces) {
        if (!piece.like.empty()) {
            const Device fuse = circuit.at(piece.like);
            circuit.add(piece.device, fuse.kind,
                        std::vector<Connection>{{piece.block.first, piece.from}, {piece.block.second, piece.to}},
                        fuse.parameters);
        } else if (!circuit.at(piece.device).net_of(piece.block.first)) {
            exchange_contact(circuit, piece.device, {}, piece.block, piece.from, piece.to);
        }
    }
}

std::string text_of(const SecondRow &row, const Circuit &before) {
    std::vector<std::string> parts;
    for (const SecondRow::Piece &piece : row.pieces)
        parts.push_back((piece.like.empty() ? contact_text(piece.device, piece.block)
                                            : "a fuse " + piece.device + " like " + piece.like) +
                        " from " + piece.from + " to " + piece.to);
    for (const SecondRow::Twin &twin : row.twins) {
        std::vector<std::string> contacts;
        for (const Contact &contact : twin.contacts)
            contacts.push_back(contact.first + "-" + contact.second);
        const bool coil = !twin.feed.empty();
        parts.push_back((coil ? "a " : "an ") + std::string(to_text(before.at(twin.like).kind)) + " " + twin.device +
                        " like " + twin.like + ", its " +
                        (coil ? "coil from " + twin.feed + " to " + twin.back + " and its " : std::string()) +
                        "contacts " + listed(contacts) + " in series behind those of " + twin.like);
    }
    std::string text = "add a second row: ";
    for (std::size_t i = 0; i < parts.size(); ++i)
        text += (i == 0 ? "" : i + 1 < parts.size() ? "; " : "; and ") + parts[i];
    return text;
}

} // namespace stopspan
