#include "sheets/channel.hpp"

#include "sheets/symbol_pen.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <optional>
#include <set>

namespace stopspan {
namespace {

constexpr double text_gap_mm = 0.75, stub_text_gap_mm = 1.5, arrow_mm = 2.25;
constexpr double upright_gap_mm = 1; // tails of letters point to the wire

struct Group {
    NetId net;
    bool passes = false;
    std::vector<std::size_t> pins; // indices, by x, upper before lower
    enum class Way { stub, straight, track } way = Way::track;
    double left = 0, right = 0;
    std::size_t track = 0;
};

class Channel {
public:
    Channel(std::span<const ChannelPin> pins, const std::function<const std::string &(NetId)> &name_of,
            const ChannelStyle &style)
        : pins_(pins), name_of_(name_of), style_(style) {}

    ChannelPlan route() {
        make_groups();
        assign_tracks();
        for (std::size_t g = 0; g < groups_.size(); ++g)
            if (!groups_[g].passes)
                choose_names(g);
        turn_names();
        draw();
        return std::move(plan_);
    }

private:
    struct Named {
        ChannelPin pin;
        std::size_t group;
        bool stub;
        bool upright = false;
    };

    void make_groups() {
        std::map<std::pair<NetId, std::uint32_t>, std::size_t> index;
        std::vector<std::size_t> order(pins_.size());
        for (std::size_t i = 0; i < order.size(); ++i)
            order[i] = i;
        std::sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
            return std::pair(pins_[a].x_mm, !pins_[a].from_above) < std::pair(pins_[b].x_mm, !pins_[b].from_above);
        });
        for (const std::size_t i : order) {
            const ChannelPin &pin = pins_[i];
            const auto [entry, fresh] = index.try_emplace({pin.net, pin.passage}, groups_.size());
            if (fresh)
                groups_.push_back({.net = pin.net, .passes = pin.passage != 0, .pins = {}, .left = pin.x_mm});
            groups_[entry->second].pins.push_back(i);
            groups_[entry->second].right = pin.x_mm;
            (pin.from_above ? above_ : below_).emplace(pin.x_mm, entry->second);
        }
        for (Group &group : groups_) {
            if (group.pins.size() == 1)
                group.way = Group::Way::stub;
            else if (group.pins.size() == 2 && group.left == group.right)
                group.way = Group::Way::straight;
        }
    }

    // A net whose pin hangs above another net's pin must run on a higher track, or their ends would touch.
    void assign_tracks() {
        std::vector<std::set<std::size_t>> higher(groups_.size());
        std::vector<std::size_t> waiting;
        for (std::size_t g = 0; g < groups_.size(); ++g)
            if (groups_[g].way == Group::Way::track)
                waiting.push_back(g);
        for (const auto &[x, upper] : above_)
            if (const auto lower = below_.find(x); lower != below_.end() && lower->second != upper &&
                                                   groups_[upper].way == Group::Way::track &&
                                                   groups_[lower->second].way == Group::Way::track)
                higher[lower->second].insert(upper);
        while (!waiting.empty()) {
            std::vector<std::size_t> free;
            for (const std::size_t g : waiting)
                if (std::none_of(higher[g].begin(), higher[g].end(), [&](std::size_t h) {
                        return std::find(waiting.begin(), waiting.end(), h) != waiting.end();
                    }))
                    free.push_back(g);
            if (free.empty()) { // a cycle: the net with the fewest ends gives way and is joined by name
                const auto gives_way = std::min_element(waiting.begin(), waiting.end(), [&](auto a, auto b) {
                    return groups_[a].pins.size() < groups_[b].pins.size();
                });
                groups_[*gives_way].way = Group::Way::stub;
                waiting.erase(gives_way);
                continue;
            }
            double reached = -1e9;
            for (const std::size_t g : free) { // already from left to right
                if (groups_[g].left < reached + grid_mm)
                    continue;
                groups_[g].track = tracks_;
                reached = groups_[g].right;
                waiting.erase(std::find(waiting.begin(), waiting.end(), g));
            }
            ++tracks_;
        }
    }

    double next_wire(const ChannelPin &pin) const {
        const auto &side = pin.from_above ? above_ : below_;
        const auto next = side.upper_bound(pin.x_mm);
        return next == side.end() ? style_.right_mm : next->first;
    }

    // A stub is named at its end; other groups once, at the first pin that has room beside it.
    void choose_names(std::size_t g) {
        const Group &group = groups_[g];
        if (group.way == Group::Way::stub) {
            for (const std::size_t i : group.pins)
                named_.push_back({pins_[i], g, true});
            return;
        }
        const double width = 2 * text_gap_mm + std::max(text_width_mm(name_of_(group.net), small_text_mm),
                                                        style_.reference_room_mm(group.net, NetMark::Kind::on_wire));
        std::size_t best = group.pins.front();
        for (const std::size_t i : group.pins)
            if (pins_[i].x_mm + width <= next_wire(pins_[i])) {
                best = i;
                break;
            }
        named_.push_back({pins_[best], g, false});
    }

    // Names of neighbouring poles stand alike: one that must be turned turns those beside it.
    void turn_names() {
        std::sort(named_.begin(), named_.end(), [](const Named &a, const Named &b) { return a.pin.x_mm > b.pin.x_mm; });
        for (bool more = true; more;) {
            measure_names();
            more = false;
            for (const Named &named : named_)
                for (Named &other : named_)
                    if (named.upright && !other.upright && named.pin.from_above == other.pin.from_above &&
                        std::abs(named.pin.x_mm - other.pin.x_mm) <= pole_pitch_mm)
                        more = other.upright = true;
        }
    }

    // From right to left, so that a name knows whether the wire at its right has one turned along it.
    void measure_names() {
        upper_strip_ = lower_strip_ = 0;
        std::set<std::pair<bool, double>> turned;
        for (Named &named : named_) {
            const ChannelPin &pin = named.pin;
            const double gap = named.stub ? stub_text_gap_mm : text_gap_mm;
            const double full = text_width_mm(name_of_(groups_[named.group].net), small_text_mm);
            const double room = room_of(named);
            const double length = std::max(full, room);
            const double next = next_wire(pin);
            const double kept =
                turned.contains({pin.from_above, next}) ? stub_text_gap_mm + small_text_mm + text_gap_mm : text_gap_mm;
            named.upright = named.upright || pin.x_mm + gap + length + kept > next;
            if (named.upright)
                turned.emplace(pin.from_above, pin.x_mm);
            double strip = small_text_mm + 2 * text_gap_mm;
            if (named.upright)
                strip = full + 2 * text_gap_mm + (room > 0 ? 1 + room : 0) + (named.stub ? arrow_mm : 0);
            else if (room > 0)
                strip = small_text_mm + small_line_mm + 2 * text_gap_mm;
            double &deepest = pin.from_above ? upper_strip_ : lower_strip_;
            deepest = std::max(deepest, up_to_grid(strip));
        }
    }

    static NetMark::Kind kind_of(const Named &named) {
        return !named.stub            ? NetMark::Kind::on_wire
               : named.pin.from_above ? NetMark::Kind::goes_down
                                      : NetMark::Kind::goes_up;
    }
    double room_of(const Named &named) const {
        return style_.reference_room_mm(groups_[named.group].net, kind_of(named));
    }

    void place_names() {
        for (const Named &named : named_) {
            const ChannelPin &pin = named.pin;
            const NetId net = groups_[named.group].net;
            const double strip = pin.from_above ? upper_strip_ : lower_strip_;
            const double bottom = pin.from_above ? -strip : -plan_.height_mm;
            NetMark mark;
            mark.kind = kind_of(named);
            mark.net = net;
            mark.at = {pin.x_mm, pin.from_above ? 0 : bottom};
            mark.reference_room_mm = room_of(named);
            mark.text = {{}, small_text_mm, name_of_(net), Align::left, Layer::net_names, named.upright};
            if (named.stub)
                mark.at.y_mm = pin.from_above ? bottom : bottom + strip;
            const double gap = named.stub ? stub_text_gap_mm : text_gap_mm;
            if (named.upright) {
                const double left_x_mm = pin.x_mm - (named.stub ? stub_text_gap_mm : upright_gap_mm);
                const double low = bottom + text_gap_mm + (named.stub && pin.from_above ? arrow_mm : 0);
                mark.text.at = {left_x_mm, low};
                mark.reference_at = {left_x_mm, low + text_width_mm(mark.text.text, small_text_mm) + 1};
            } else {
                const double lowest = bottom + 1;
                const double y = pin.from_above               ? -small_text_mm - text_gap_mm
                                 : mark.reference_room_mm > 0 ? lowest + small_line_mm
                                                              : lowest;
                mark.text.at = {pin.x_mm + gap, y};
                mark.reference_at = {pin.x_mm + gap, y - small_line_mm};
            }
            plan_.marks.push_back(std::move(mark));
        }
    }

    void draw() {
        double between = 0;
        if (tracks_)
            between = pitch_ * static_cast<double>(tracks_ - 1 + (above_.empty() ? 0 : 1) + (below_.empty() ? 0 : 1));
        else if (upper_strip_ > 0 && (lower_strip_ > 0 || (!below_.empty() && stub_from_above())))
            between = grid_mm; // stubs of two nets may end above each other, or one above a designation
        plan_.height_mm = std::max(upper_strip_ + lower_strip_ + between, pins_.empty() ? 0.0 : grid_mm);
        if (!above_.empty() && !below_.empty())
            plan_.height_mm += style_.spread_mm;
        place_names();
        for (const Group &group : groups_) {
            if (group.way == Group::Way::stub) {
                for (const std::size_t i : group.pins)
                    draw_stub(pins_[i], group.net);
            } else if (group.way == Group::Way::straight) {
                plan_.wires.push_back({{group.left, 0}, {group.left, -plan_.height_mm}, group.net});
            } else {
                draw_track(group);
            }
        }
    }

    bool stub_from_above() const {
        return std::any_of(named_.begin(), named_.end(),
                           [](const Named &named) { return named.stub && named.pin.from_above; });
    }

    void draw_stub(const ChannelPin &pin, NetId net) {
        if (pin.from_above)
            plan_.wires.push_back({{pin.x_mm, 0}, {pin.x_mm, -upper_strip_}, net});
        else
            plan_.wires.push_back({{pin.x_mm, -plan_.height_mm}, {pin.x_mm, -plan_.height_mm + lower_strip_}, net});
    }

    void draw_track(const Group &group) {
        const double first = above_.empty() ? 0 : pitch_; // nothing hangs from above: the track is the upper edge
        const double y = -upper_strip_ - first - pitch_ * static_cast<double>(group.track);
        std::map<double, int> ends; // wire ends that meet at each x
        for (const std::size_t i : group.pins) {
            const ChannelPin &pin = pins_[i];
            plan_.wires.push_back({{pin.x_mm, pin.from_above ? 0 : -plan_.height_mm}, {pin.x_mm, y}, group.net});
            ++ends[pin.x_mm];
        }
        for (auto here = ends.begin(); here != ends.end(); ++here)
            if (const auto next = std::next(here); next != ends.end()) {
                plan_.wires.push_back({{here->first, y}, {next->first, y}, group.net});
                ++here->second;
                ++next->second;
            }
        for (const auto &[x, count] : ends)
            if (count > 2)
                plan_.junctions.push_back({x, y});
    }

    std::span<const ChannelPin> pins_;
    const std::function<const std::string &(NetId)> &name_of_;
    const ChannelStyle &style_;
    double pitch_ = style_.track_pitch_mm;
    std::vector<Group> groups_;
    std::map<double, std::size_t> above_, below_; // x -> group, on either edge
    std::size_t tracks_ = 0;
    double upper_strip_ = 0, lower_strip_ = 0;
    std::vector<Named> named_;
    ChannelPlan plan_;
};

} // namespace

ChannelPlan route_channel(std::span<const ChannelPin> pins, const std::function<const std::string &(NetId)> &name_of,
                          const ChannelStyle &style) {
    return Channel(pins, name_of, style).route();
}

} // namespace stopspan
