#include "sheets/single_line.hpp"

#include "sheets/power_owners.hpp"
#include "sheets/row_plan.hpp"
#include "sheets/sheet_pen.hpp"
#include "sheets/symbol_pen.hpp"

#include <algorithm>
#include <map>
#include <set>

namespace stopspan {
namespace {

constexpr double column_mm = 25, most_level_mm = 30, least_level_mm = 20;
constexpr double name_mm = 35, name_room_mm = name_mm + 15; // below what is at the end of a line
constexpr auto most_columns = static_cast<std::size_t>((content_right_mm - content_left_mm) / column_mm);
constexpr double room_mm = content_top_mm - content_bottom_mm - name_room_mm - contact_height_mm;
constexpr auto most_levels = static_cast<std::size_t>(room_mm / least_level_mm) + 1;
constexpr std::size_t kept_together = 5; // ends that stand on one sheet: a machine's
constexpr std::size_t least_ends = 2;    // of an overview that says more than the circuit beside it

/// One or more like devices beside each other, and what hangs on them.
struct Node {
    std::string symbol;
    std::vector<std::string> names;
    std::string rating, end; ///< what an end is there for: its machine
    std::size_t poles = 0;
    std::vector<Node> children;

    std::size_t ends() const {
        std::size_t count = 0;
        for (const Node &child : children)
            count += child.ends();
        return std::max<std::size_t>(1, count);
    }
    std::size_t levels() const {
        std::size_t deepest = 0;
        for (const Node &child : children)
            deepest = std::max(deepest, child.levels());
        return deepest + 1;
    }
};

std::string symbol_of(const Part &part, DeviceKind kind) {
    using enum DeviceKind;
    switch (part.role) {
    case PartRole::source:
        return "LINE_SUPPLY";
    case PartRole::supply:
        return "LINE_CONVERTER";
    case PartRole::motor:
        return kind == drive ? "LINE_CONVERTER" : "LINE_MOTOR";
    case PartRole::load:
        return "LINE_LOAD";
    case PartRole::series:
        return "LINE_FUSE";
    case PartRole::contact: // of a button or switch that carries the motor's current
        return "LINE_SWITCH";
    default:
        return kind == isolator ? "LINE_ISOLATOR" : kind == overload ? "LINE_OVERLOAD" : "LINE_CONTACTOR";
    }
}

class Overview {
public:
    Overview(std::span<const Part> parts, const Circuit &circuit, const NetFacts &facts, const Locations &locations)
        : parts_(parts), circuit_(circuit), facts_(facts), locations_(locations), power_(parts, circuit, facts),
          fed_by_(circuit.nets().size()), children_(parts.size()) {}

    std::vector<Node> trees() {
        for (std::size_t i = 0; i < parts_.size(); ++i)
            if (shown(i))
                for (const NetId net : nets(i, false))
                    fed_by_[net.value].push_back(i);
        for (std::size_t i = 0; i < parts_.size(); ++i)
            if (shown(i) && parts_[i].role != PartRole::source)
                if (const auto parent = parent_of(i))
                    children_[*parent].push_back(i);
        std::vector<Node> roots;
        for (std::size_t i = 0; i < parts_.size(); ++i)
            if (shown(i) && parts_[i].role == PartRole::source)
                roots.push_back(under_boards(i));
        std::erase_if(roots, [](const Node &root) { return root.ends() < least_ends; });
        return roots;
    }

private:
    bool shown(std::size_t i) const {
        const Part &part = parts_[i];
        const DeviceKind kind = circuit_.device(part.device).kind;
        return power_.power(i) && (part.role != PartRole::contact || is_actuator(kind)) && part.symbol != "INPUT" &&
               (part.role != PartRole::series || kind == DeviceKind::fuse);
    }
    static bool is_end(const Part &part) {
        return part.role == PartRole::motor || part.role == PartRole::supply || part.role == PartRole::load;
    }

    // Nets on the side a part is fed from, or on its other side; not the neutral's.
    std::vector<NetId> nets(std::size_t i, bool feeding) const {
        const Part &part = parts_[i];
        std::vector<NetId> found;
        const auto add = [&](NetId net) {
            if (facts_.feed[net.value] >= 0)
                found.push_back(net);
        };
        if (part.role == PartRole::source || is_end(part)) {
            for (const Pin &pin : part.pins)
                if ((part.role != PartRole::source) == feeding && (part.role != PartRole::supply || pin.upper))
                    add(pin.net);
            return found;
        }
        for (std::size_t pin = 0; pin + 1 < part.pins.size(); pin += 2) {
            const NetId a = part.pins[pin].net, b = part.pins[pin + 1].net;
            const bool first = facts_.feed[a.value] <= facts_.feed[b.value];
            add(first == feeding ? a : b);
        }
        return found;
    }

    std::optional<std::size_t> parent_of(std::size_t i) const {
        for (const NetId net : nets(i, true))
            for (const std::size_t parent : fed_by_[net.value])
                if (parent != i)
                    return parent;
        return std::nullopt;
    }

    bool leads_to_an_end(std::size_t i) const {
        return is_end(parts_[i]) ||
               std::ranges::any_of(children_[i], [&](std::size_t child) { return leads_to_an_end(child); });
    }

    // What a part feeds: like parts that feed the same, as three fuses or two contactors of a reversing starter, are
    // one.
    std::set<std::size_t> fed(std::size_t i) const {
        std::set<std::size_t> found;
        for (const NetId net : nets(i, false))
            for (const std::size_t part : power_.at(net))
                if (part != i && shown(part) && std::ranges::count(nets(part, true), net))
                    found.insert(part);
        return found;
    }

    Node node(std::size_t i) const {
        const Device &device = circuit_.device(parts_[i].device);
        Node made{symbol_of(parts_[i], device.kind), {device.designation}, parts_[i].rating, "", 0, {}};
        made.poles = nets(i, true).size();
        if (is_end(parts_[i]) && machine_of(device) != device.designation)
            made.end = machine_of(device);
        return made;
    }

    std::vector<Node> below(std::size_t i) const {
        struct Like {
            std::string symbol;
            std::set<std::size_t> fed;
            Node node;
            std::vector<std::size_t> parts;
        };
        std::vector<Like> groups;
        for (const std::size_t child : children_[i]) {
            Node made = node(child);
            std::set<std::size_t> feeds = fed(child);
            const auto same = std::ranges::find_if(groups, [&](const Like &group) {
                return !feeds.empty() && group.symbol == made.symbol && group.fed == feeds;
            });
            if (same == groups.end()) {
                groups.push_back({made.symbol, std::move(feeds), std::move(made), {child}});
                continue;
            }
            same->node.names.push_back(made.names.front());
            if (made.symbol == "LINE_FUSE")
                ++same->node.poles;
            same->parts.push_back(child);
        }
        std::vector<Node> nodes;
        for (Like &group : groups) {
            for (const std::size_t part : group.parts)
                for (Node &child : below(part))
                    group.node.children.push_back(std::move(child));
            if (std::ranges::any_of(group.parts, [&](std::size_t part) { return leads_to_an_end(part); }))
                nodes.push_back(std::move(group.node));
        }
        return nodes;
    }

    // Boards are no devices of the circuit: what hangs on a supply stands below the boards it is in.
    Node under_boards(std::size_t source) const {
        Node root = node(source);
        root.poles = nets(source, false).size();
        std::map<std::string, std::vector<std::string>>
            boards; // by designation of what hangs there: from the supply down
        for (const std::size_t child : children_[source])
            boards.emplace(circuit_.device(parts_[child].device).designation, boards_above(child));
        for (Node &child : below(source)) {
            Node *at = &root;
            for (const std::string &board : boards.at(child.names.front())) {
                auto found = std::ranges::find_if(at->children, [&](const Node &each) {
                    return each.symbol == "LINE_BOARD" && each.names.front() == board;
                });
                if (found == at->children.end())
                    found = at->children.insert(at->children.end(), {"LINE_BOARD", {board}, "", "", 0, {}});
                at = &*found;
            }
            at->children.push_back(std::move(child));
        }
        return root;
    }

    std::vector<std::string> boards_above(std::size_t part) const {
        std::vector<std::string> boards;
        std::uint32_t here = locations_.of_device[parts_[part].device.value];
        const bool machine = here != Locations::none && locations_.all[here].kind != Location::Kind::board;
        if (machine)
            here = locations_.all[here].hangs_on.value_or(Locations::none);
        while (here != Locations::none && locations_.all[here].hangs_on) { // the topmost is the supply itself
            if (locations_.all[here].kind == Location::Kind::board)
                boards.insert(boards.begin(), locations_.all[here].name);
            here = *locations_.all[here].hangs_on;
        }
        return boards;
    }

    std::span<const Part> parts_;
    const Circuit &circuit_;
    const NetFacts &facts_;
    const Locations &locations_;
    PowerOwners power_;
    std::vector<std::vector<std::size_t>> fed_by_; ///< per net: parts that feed it
    std::vector<std::vector<std::size_t>> children_;
};

// Takes away from a tree what has room beside each other, with the node they hang on. What is small stays together.
Node taken(Node &from, std::size_t room) {
    Node piece = from;
    piece.children.clear();
    auto next = from.children.begin();
    for (; next != from.children.end() && room > 0; ++next) {
        const std::size_t ends = next->ends();
        if (ends > room) {
            if (ends > kept_together || piece.children.empty())
                piece.children.push_back(taken(*next, room));
            break;
        }
        piece.children.push_back(std::move(*next));
        room -= ends;
    }
    from.children.erase(from.children.begin(), next);
    return piece;
}

// Trees no wider than a sheet: a node that feeds too much stands on several, each time with a part of it.
std::vector<Node> divided(Node node) {
    std::vector<Node> trees;
    do
        trees.push_back(taken(node, most_columns));
    while (!node.children.empty());
    return trees;
}

// Below what has no room to go on down, further trees begin.
void cut_off(Node &node, std::size_t level, std::vector<Node> &trees) {
    if (level == most_levels && !node.children.empty()) {
        trees.push_back(node);
        node.children.clear();
    }
    for (Node &child : node.children)
        cut_off(child, level + 1, trees);
}

class Page {
public:
    explicit Page(const Node &tree) : page_("Supplies and isolators: single line", "Overview diagram") {
        level_mm_ = std::clamp(room_mm / static_cast<double>(std::max<std::size_t>(1, tree.levels() - 1)),
                               least_level_mm, most_level_mm);
        draw(tree, 0, content_top_mm - normal_text_mm);
    }
    SpecialSheet take() { return std::move(page_); }

private:
    void draw(const Node &node, std::size_t column, double y) {
        const double x = content_left_mm + column_mm * (static_cast<double>(column) + 0.6);
        const double bottom = y - contact_height_mm;
        SheetPen words(page_.sheet, Layer::designations), lines(page_.sheet, Layer::symbols);
        page_.sheet.inserts.push_back({node.symbol, {x, y}, {{"NAME", node.names.front()}}, Layer::symbols});
        double line = y - 3.75;
        for (std::size_t i = 0; i < node.names.size() && i < most_names; ++i)
            for (std::string &part : wrapped(node.names[i], small_text_mm, column_mm - 10)) {
                words.text({x - 4.5, line}, small_text_mm, std::move(part), Align::right);
                line -= small_line_mm;
            }
        if (node.poles > 1) { // a stroke through the line and how many it stands for
            lines.line({x - 1, y - 2.25}, {x + 1, y - 0.75});
            words.text({x + 1.5, y - 2.75}, small_text_mm, std::to_string(node.poles));
        }
        const bool supply = node.symbol == "LINE_SUPPLY"; // nothing stands beside it
        double below = supply ? y - 5 : bottom - small_line_mm;
        for (std::string &part : wrapped(node.rating, small_text_mm, supply ? 3 * column_mm : column_mm - 10)) {
            words.text({supply ? x + 5 : x + 1.5, below}, small_text_mm, std::move(part));
            below -= small_line_mm;
        }
        std::vector<std::string> end = wrapped(node.end, small_text_mm, name_mm);
        double across = x + small_text_mm / 2 - small_line_mm * static_cast<double>(end.size() - 1);
        for (std::string &part : end) { // upright, below the rating
            words.text({across, below + 1}, small_text_mm, std::move(part), Align::right, true);
            across += small_line_mm;
        }
        if (node.children.empty())
            return;
        const double next = y - level_mm_, bus = next + 1.25;
        std::size_t at = column;
        for (const Node &child : node.children) {
            const double child_x = content_left_mm + column_mm * (static_cast<double>(at) + 0.6);
            if (child_x > x) {
                lines.line({at == column ? x : last_x_, bus}, {child_x, bus});
                lines.line({child_x, bus}, {child_x, next});
            } else {
                lines.line({x, bottom}, {x, next});
            }
            last_x_ = child_x;
            const double kept = last_x_;
            draw(child, at, next);
            last_x_ = kept;
            at += child.ends();
        }
    }

    static constexpr std::size_t most_names = 3;
    SpecialSheet page_;
    double level_mm_ = most_level_mm, last_x_ = 0;
};

} // namespace

std::vector<SpecialSheet> single_line_sheets(std::span<const Part> parts, const Circuit &circuit, const NetFacts &facts,
                                             const Locations &locations) {
    std::vector<SpecialSheet> sheets;
    std::vector<Node> trees = Overview(parts, circuit, facts, locations).trees();
    for (std::size_t i = 0; i < trees.size(); ++i) {
        Node tree = std::move(trees[i]);
        cut_off(tree, 1, trees);
        for (const Node &piece : divided(std::move(tree)))
            sheets.push_back(Page(piece).take());
    }
    return sheets;
}

} // namespace stopspan
