#include "wiring/feed.hpp"

#include "stopspan/error.hpp"

#include <array>
#include <numbers>

namespace stopspan::wiring {
namespace {

constexpr std::array<std::string_view, 3> three_lines{"L1", "L2", "L3"};

Feed feed_of_supply(Draft &draft, const Supply &supply) {
    Feed feed;
    feed.voltage_v = supply.voltage_v;
    const bool three = supply.kind == DeviceKind::mains_3ph;
    const std::string owner = "supply " + supply.name;
    if (draft.has(supply.name) && draft.kind_of(supply.name) != supply.kind)
        throw Error(ErrorCode::contradiction, owner + ": the recorded circuit has it as a " +
                                                  std::string(to_text(draft.kind_of(supply.name))) +
                                                  "; correct one of them");
    const auto net_of = [&](const std::string &pole) {
        const std::string documented = supply.name + ":" + pole;
        if (!draft.has(supply.name))
            return documented;
        const std::string recorded = draft.net_of(supply.name, pole);
        if (recorded.empty())
            draft.connect(supply.name, pole, documented);
        else
            draft.alias(documented, recorded);
        return recorded.empty() ? documented : recorded;
    };
    std::vector<Connection> poles;
    for (std::size_t i = 0; i < (three ? 3 : 1); ++i) {
        const std::string pole(three ? three_lines[i] : "L");
        feed.lines.push_back(net_of(pole));
        poles.push_back({pole, feed.lines.back()});
    }
    feed.neutral = net_of("N");
    poles.push_back({"N", feed.neutral});
    Parameters parameters{{"voltage_v", supply.voltage_v}, {"frequency_hz", supply.frequency_hz}};
    if (supply.impedance_ohm)
        parameters.emplace("impedance_ohm", *supply.impedance_ohm);
    if (!draft.has(supply.name))
        draft.add(owner, supply.name, supply.kind, poles, parameters);
    return feed;
}

// Nets "B1:L1" ... of a board or area: behind its isolator, or other names of what feeds it.
Feed named_feed(Draft &draft, const std::string &owner, const std::string &name, const std::string &isolator,
                const Feed &ahead) {
    std::vector<std::string> nets;
    for (std::size_t i = 0; i < ahead.lines.size(); ++i)
        nets.push_back(name + ":" + line_name(ahead, i));
    nets.push_back(name + ":N");
    Feed feed = isolator.empty() ? ahead : behind_isolator(draft, owner, isolator, ahead, nets);
    for (std::size_t i = 0; i < feed.lines.size(); ++i)
        draft.alias(nets[i], feed.lines[i]);
    draft.alias(nets.back(), feed.neutral);
    return feed;
}

} // namespace

double Feed::line_to_line_v() const {
    return voltage_v * std::numbers::sqrt3;
}

Feed Feed::one_line(std::size_t line) const {
    Feed feed = *this;
    feed.lines = {lines[line % lines.size()]};
    return feed;
}

std::string line_name(const Feed &feed, std::size_t line) {
    return feed.three_phase() ? std::string(three_lines[line]) : "L";
}

Feed behind_isolator(Draft &draft, const std::string &owner, const std::string &isolator, const Feed &feed,
                     const std::vector<std::string> &nets) {
    Feed behind = feed;
    behind.isolators.push_back(isolator);
    std::vector<Connection> poles;
    for (std::size_t i = 0; i <= feed.lines.size(); ++i) {
        const std::string in = std::to_string(2 * i + 1), out = std::to_string(2 * i + 2);
        std::string &net = i < feed.lines.size() ? behind.lines[i] : behind.neutral;
        if (!draft.has(isolator)) {
            poles.push_back({in, net});
            poles.push_back({out, nets[i]});
            net = nets[i];
            continue;
        }
        const std::string recorded = draft.net_of(isolator, out);
        if (!recorded.empty())
            net = recorded;
        else if (i < feed.lines.size()) // a recorded isolator may leave the neutral unswitched, but no line
            throw Error(ErrorCode::contradiction, owner + ": its isolator " + isolator + " is recorded without pole " +
                                                      in + "-" + out + "; record all poles of its feed");
    }
    if (!draft.has(isolator))
        draft.add(owner, isolator, DeviceKind::isolator, poles);
    return behind;
}

Feeds::Feeds(const Description &description, Draft &draft)
    : description_(description), one_phase_(description.boards().size(), 0) {
    std::vector<Feed> supplies;
    for (const Supply &supply : description.supplies())
        supplies.push_back(feed_of_supply(draft, supply));
    for (std::uint32_t i = 0; i < description.boards().size(); ++i) {
        const Board &board = description.boards()[i];
        const Feed &ahead = board.fed_from ? boards_[board.fed_from->value] : supplies[board.supply->value];
        boards_.push_back(named_feed(draft, "board " + board.name, board.name, board.isolator, ahead));
        boards_.back().board = {i};
    }
    for (std::uint32_t i = 0; i < description.areas().size(); ++i) {
        const Area &area = description.areas()[i];
        const std::string owner = "area " + area.name;
        const std::optional<BoardId> board = description.board_of(AreaId{i});
        areas_.emplace_back();
        if (!board) {
            if (!area.isolator.empty())
                throw Error(ErrorCode::missing_value,
                            owner + ": no board feeds its isolator " + area.isolator + "; give the area a board");
            continue;
        }
        const bool through_outer = area.within && description.board_of(*area.within) == board;
        const Feed &ahead = through_outer ? *areas_[area.within->value] : boards_[board->value];
        areas_.back() = named_feed(draft, owner, area.name, area.isolator, ahead);
    }
}

const Feed &Feeds::at(const std::string &owner, AreaId area, std::optional<BoardId> own_board) const {
    const std::optional<BoardId> around = description_.board_of(area);
    if (own_board && own_board != around)
        return boards_[own_board->value];
    if (!around)
        throw Error(ErrorCode::missing_value,
                    owner + ": no board feeds it; name a board for it or for area " + description_[area].name);
    return *areas_[area.value];
}

const Feed &Feeds::ahead(const std::string &owner, const KeptLoad &load) const {
    const std::optional<BoardId> board = load.board ? load.board : description_.board_of(load.area);
    if (!board)
        throw Error(ErrorCode::missing_value,
                    owner + ": no board feeds it; name a board for it or for area " + description_[load.area].name);
    return boards_[board->value];
}

Feed Feeds::next_line(const Feed &feed) {
    return feed.one_line(one_phase_[feed.board.value]++);
}

} // namespace stopspan::wiring
