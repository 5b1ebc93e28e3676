#include "sheets/row_plan.hpp"

#include "sheets/channel.hpp"
#include "sheets/straight_wires.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <set>

namespace stopspan {
namespace {

constexpr double most_spread_mm = 7.5; // beyond it a path looks torn apart
constexpr double coil_table_gap_mm = 1.25;
constexpr double strip_radius_mm = 0.5; // of the ring where a wire leaves its enclosure

// Contacts, and the inputs of a stop relay, which act on what its coil circuit does.
bool is_moved_by_coil(const Part &part, const Device &device) {
    return has_coil(device.kind) &&
           (part.role == PartRole::contact || part.role == PartRole::poles || part.symbol == "INPUT");
}

class RowDrawing {
public:
    RowDrawing(const RowPlan &plan, std::span<const Part> parts, const Circuit &circuit, const NetFacts &facts,
               double pitch, double spread)
        : plan_(plan), parts_(parts), circuit_(circuit), facts_(facts), pitch_(pitch), spread_(spread) {}

    CircuitSheet draw() {
        measure_rows();
        route();
        double y = content_top_mm - (plan_.paths.empty() ? 0 : 5);
        for (int k = 0; k <= plan_.rows; ++k) {
            draw_channel(channels_[static_cast<std::size_t>(k)], y);
            y -= channels_[static_cast<std::size_t>(k)].height_mm;
            if (k < plan_.rows) {
                row_top_.push_back(y);
                y -= heights_[static_cast<std::size_t>(k)];
            }
        }
        for (const auto &placed : plan_.placed)
            draw_part(placed);
        for (const auto &passage : plan_.passages) {
            const auto row = static_cast<std::size_t>(passage.row);
            wire({passage.x_mm, row_top_[row]}, {passage.x_mm, row_top_[row] - heights_[row]}, passage.net);
        }
        refer_to_nets();
        draw_paths();
        y -= draw_coil_tables(y - coil_table_gap_mm);
        join_straight_wires(out_.sheet);
        out_.right_mm = right_end();
        out_.paths = plan_.paths.size();
        spare_mm_ = y - (out_.right_mm <= beside_title_right_mm ? beside_title_bottom_mm : content_bottom_mm);
        out_.fits = spare_mm_ >= 0;
        return std::move(out_);
    }
    /// Room left below what was drawn.
    double spare_mm() const { return spare_mm_; }

private:
    double right_end() const {
        double right = 0;
        for (const Primitive &primitive : out_.sheet.primitives) {
            if (const auto *text = std::get_if<Text>(&primitive))
                right = std::max(right, text_box(*text).right);
            else if (const auto *line = std::get_if<Line>(&primitive))
                right = std::max({right, line->a.x_mm, line->b.x_mm});
        }
        for (const Reference &reference : out_.references)
            right = std::max(right, text_box(reference.text).right +
                                        (reference.text.align == Align::left ? reference.room_mm : 0));
        for (const auto &placed : plan_.placed)
            right = std::max(right, placed.x_mm + parts_[placed.part].right_mm);
        return right;
    }

    void measure_rows() {
        heights_.assign(static_cast<std::size_t>(plan_.rows), 0);
        for (const auto &placed : plan_.placed) {
            double &height = heights_[static_cast<std::size_t>(placed.row)];
            height = std::max(height, symbol_shape(parts_[placed.part].symbol).height_mm);
        }
    }

    void route() {
        std::vector<std::vector<ChannelPin>> pins(static_cast<std::size_t>(plan_.rows) + 1);
        const auto add = [&](int row, double x, bool upper, NetId net, std::uint32_t passage) {
            pins[static_cast<std::size_t>(upper ? row : row + 1)].push_back({x, !upper, net, passage});
        };
        for (const auto &placed : plan_.placed) {
            const Part &part = parts_[placed.part];
            for (std::size_t i = 0; i < part.pins.size(); ++i) {
                const Pin &pin = part.pins[i];
                const NetId net = part.pins[placed.turned ? part.pins.size() - 1 - i : i].net;
                add(placed.row, placed.x_mm + pin.x_mm, pin.upper, net,
                    pin.upper ? placed.upper_passage : placed.lower_passage);
            }
        }
        for (const auto &passage : plan_.passages) {
            add(passage.row, passage.x_mm, true, passage.net, passage.upper);
            add(passage.row, passage.x_mm, false, passage.net, passage.lower);
        }
        const std::function<const std::string &(NetId)> name_of = [&](NetId net) -> const std::string & {
            return facts_.shown[net.value];
        };
        const std::map<NetId, std::size_t> others = pieces_elsewhere(pins);
        const auto room = [&](NetId net, NetMark::Kind kind) {
            const std::size_t count = others.at(net);
            if (kind != NetMark::Kind::on_wire)
                return reference_width_mm(kind == NetMark::Kind::goes_down && count > 1 ? count - 1 : 0);
            return count == 0 ? 0 : reference_width_mm(count - 1);
        };
        for (const auto &channel : pins)
            channels_.push_back(route_channel(channel, name_of, {pitch_, content_right_mm + 2.5, spread_, room}));
    }

    // Pieces a net may have beside the one at hand: at most one for each terminal drawn elsewhere and for each channel.
    std::map<NetId, std::size_t> pieces_elsewhere(const std::vector<std::vector<ChannelPin>> &channels) const {
        std::map<NetId, std::size_t> elsewhere;
        std::map<NetId, std::set<int>> passed;
        for (const auto &passage : plan_.passages)
            passed[passage.net].insert(passage.row);
        for (const auto &channel : channels)
            for (const ChannelPin &pin : channel)
                elsewhere.emplace(pin.net, facts_.ends[pin.net.value]);
        for (const auto &placed : plan_.placed)
            for (const Pin &pin : parts_[placed.part].pins)
                --elsewhere.at(pin.net);
        for (auto &[net, count] : elsewhere) {
            std::size_t here = 0;
            for (const auto &channel : channels)
                here += std::ranges::find(channel, net, &ChannelPin::net) != channel.end();
            const std::size_t joined = passed.contains(net) ? passed.at(net).size() : 0;
            count += here > joined + 1 ? here - joined - 1 : 0;
        }
        return elsewhere;
    }

    void wire(Point a, Point b, NetId net) {
        if (!(a == b))
            out_.sheet.primitives.emplace_back(Line{a, b, Layer::wires, false, circuit_.net_name(net)});
    }

    void draw_channel(const ChannelPlan &channel, double top) {
        const auto moved = [&](Point p) { return Point{p.x_mm, p.y_mm + top}; };
        for (const auto &each : channel.wires)
            wire(moved(each.a), moved(each.b), each.net);
        for (const Point at : channel.junctions)
            out_.sheet.primitives.emplace_back(Circle{moved(at), 0.6, Layer::wires, true});
        for (const NetMark &mark : channel.marks) {
            const Point at = moved(mark.at);
            Text text = mark.text;
            text.at = moved(text.at);
            out_.sheet.primitives.emplace_back(text);
            const char *symbol = mark.kind == NetMark::Kind::goes_up     ? "NET_GOES_UP"
                                 : mark.kind == NetMark::Kind::goes_down ? "NET_GOES_DOWN"
                                                                         : "NET_NAME";
            const std::string place = place_of(at);
            out_.sheet.inserts.push_back(
                {symbol, at, {{"NET", circuit_.net_name(mark.net)}, {"PLACE", place}}, Layer::net_names});
            marks_.push_back({mark.net, at, mark.kind, place, out_.sheet.inserts.size() - 1});
            mark_references_.push_back(
                {Reference::To::net, 0,
                 Text{moved(mark.reference_at), small_text_mm, "", Align::left, Layer::references, mark.text.upright},
                 mark.reference_room_mm});
        }
    }

    // Each piece of a net says once where the net goes on.
    void refer_to_nets() {
        std::vector<std::size_t> chosen;
        out_.pieces = net_pieces(out_.sheet, ends_, marks_, chosen);
        for (std::size_t i = 0; i < chosen.size(); ++i) {
            Reference reference = mark_references_[chosen[i]];
            reference.subject = static_cast<std::uint32_t>(i);
            if (reference.room_mm > 0)
                out_.references.push_back(std::move(reference));
        }
    }

    void draw_part(const RowPlan::Placed &placed) {
        const Part &part = parts_[placed.part];
        const Device &device = circuit_.device(part.device);
        const SymbolShape &shape = symbol_shape(part.symbol);
        const auto row = static_cast<std::size_t>(placed.row);
        const Point origin{placed.x_mm, row_top_[row]};
        const auto moved = [&](Point p) { return Point{p.x_mm + origin.x_mm, p.y_mm + origin.y_mm}; };
        Insert insert{part.symbol,
                      origin,
                      {{"DESIGNATION", device.designation},
                       {"KIND", std::string(to_text(device.kind))},
                       {"RATING", part.rating}}};
        for (std::size_t i = 0; i < part.pins.size(); ++i) {
            const Pin &terminal = part.pins[placed.turned ? part.pins.size() - 1 - i : i];
            insert.attributes.emplace("TERMINAL_" + std::to_string(i + 1), terminal.terminal);
            const bool upper = part.pins[i].upper;
            ends_.push_back({moved({part.pins[i].x_mm, upper ? 0 : -shape.height_mm}), feeding(part, upper)});
            text(moved(shape.terminal_at[i]), small_text_mm, terminal.terminal, Align::left, Layer::terminals);
            if (!terminal.strip.empty()) {
                insert.attributes.emplace("STRIP_" + std::to_string(i + 1), terminal.strip);
                out_.sheet.primitives.emplace_back(Circle{ends_.back().at, strip_radius_mm, Layer::terminals});
                if (part.two_ended())
                    text(moved(part.strip_at(i)), small_text_mm, terminal.strip, Align::left, Layer::terminals);
            }
            if (!upper) // a shorter symbol than its neighbours: its wire starts in the row
                wire(moved({part.pins[i].x_mm, -shape.height_mm}),
                     {origin.x_mm + part.pins[i].x_mm, origin.y_mm - heights_[row]}, terminal.net);
        }
        out_.sheet.inserts.push_back(std::move(insert));
        text(moved(shape.designation_at), normal_text_mm, device.designation, Align::right, Layer::designations);
        text(moved(part.strips_at()), small_text_mm, part.strips(), Align::left, Layer::terminals);
        const bool coil = part.role == PartRole::load && has_coil(device.kind);
        if (!part.rating.empty() && !coil)
            text(moved(shape.rating_at), small_text_mm, part.rating, Align::left, Layer::designations);
        const Text reference{moved(part.reference_at), small_text_mm, "", part.reference_align, Layer::references};
        if (is_moved_by_coil(part, device))
            out_.references.push_back({Reference::To::coil, part.device.value, reference});
        else if (part.role == PartRole::motor)
            list_places(part.elsewhere, reference.at);
        else if (!part.elsewhere.empty())
            out_.references.push_back(
                {Reference::To::device, static_cast<std::uint32_t>(placed.part), reference, part.reference_room_mm});
        out_.parts.push_back({static_cast<std::uint32_t>(placed.part), place_of({origin.x_mm, origin.y_mm - 5})});
    }

    void draw_paths() {
        for (std::size_t i = 0; i < plan_.paths.size(); ++i)
            text({plan_.paths[i], content_top_mm - small_text_mm}, small_text_mm, std::to_string(i + 1), Align::centre,
                 Layer::references);
    }

    // Under each coil: where the contacts are that it moves. Coils above each other share the room below.
    double draw_coil_tables(double top) {
        std::map<double, double> next; // x of a path -> where its next table starts
        double lowest = top;
        for (const auto &placed : plan_.placed) {
            const CoilTable table = coil_table(parts_, placed.part, circuit_);
            if (table.heading.empty())
                continue;
            double x = placed.x_mm - parts_[placed.part].left_mm;
            const double first = next.try_emplace(placed.x_mm, top).first->second - coil_table_line_mm;
            text({x, first}, small_text_mm, table.heading, Align::left, Layer::references);
            double y = first;
            for (std::size_t i = 0; i < table.contacts.size(); ++i) {
                if (i > 0 && i % coil_table_lines == 0)
                    x += coil_table_column_mm(parts_, table);
                y = first - coil_table_line_mm * static_cast<double>(i % coil_table_lines + 1);
                list_places(std::span(table.contacts).subspan(i, 1), {x, y});
                lowest = std::min(lowest, y);
            }
            lowest = std::min(lowest, first);
            next[placed.x_mm] =
                std::min(first, first - coil_table_line_mm *
                                            static_cast<double>(std::min(table.contacts.size(), coil_table_lines)));
        }
        return lowest < top ? top - lowest + coil_table_gap_mm + 1 : 0;
    }

    // "13-14 3/2", a line for each part.
    void list_places(std::span<const std::size_t> parts, Point at) {
        for (const std::size_t part : parts) {
            out_.references.push_back(
                {Reference::To::contact, static_cast<std::uint32_t>(part),
                 Text{at, small_text_mm, place_label(parts_[part]) + " ", Align::left, Layer::references},
                 reference_width_mm()});
            at.y_mm -= coil_table_line_mm;
        }
    }

    std::string place_of(Point at) const {
        if (plan_.paths.empty())
            return zone_of(at);
        std::size_t nearest = 0;
        for (std::size_t i = 0; i < plan_.paths.size(); ++i)
            if (std::abs(plan_.paths[i] - at.x_mm) < std::abs(plan_.paths[nearest] - at.x_mm))
                nearest = i;
        return std::to_string(nearest + 1);
    }

    void text(Point at, double height, std::string words, Align align, Layer layer) {
        if (!words.empty())
            out_.sheet.primitives.emplace_back(Text{at, height, std::move(words), align, layer});
    }

    const RowPlan &plan_;
    std::span<const Part> parts_;
    const Circuit &circuit_;
    const NetFacts &facts_;
    double pitch_, spread_, spare_mm_ = 0;
    std::vector<double> heights_, row_top_;
    std::vector<ChannelPlan> channels_;
    std::vector<PlacedEnd> ends_;
    std::vector<PlacedMark> marks_;
    std::vector<Reference> mark_references_; // by mark
    CircuitSheet out_;
};

} // namespace

CircuitSheet draw_rows(const RowPlan &plan, std::span<const Part> parts, const Circuit &circuit,
                       const NetFacts &facts) {
    for (const double pitch : {5.0, 2.5}) {
        RowDrawing drawing(plan, parts, circuit, facts, pitch, 0);
        CircuitSheet sheet = drawing.draw();
        if (!sheet.fits && pitch > grid_mm)
            continue;
        const double share = std::floor(drawing.spare_mm() / std::max(plan.rows - 1, 1) / grid_mm) * grid_mm;
        const double spread = std::min(most_spread_mm, share);
        return spread > 0 ? RowDrawing(plan, parts, circuit, facts, pitch, spread).draw() : sheet;
    }
    return {};
}

CoilTable coil_table(std::span<const Part> parts, std::size_t coil, const Circuit &circuit) {
    const Part &part = parts[coil];
    CoilTable table;
    if (part.role != PartRole::load || !has_coil(circuit.device(part.device).kind))
        return table;
    const std::string &first = part.pins.front().terminal;
    if (first != "A1" && first != "C1")
        return table;
    table.heading = circuit.device(part.device).designation + "  " + part.rating;
    // Parts of a device stand together: look around the coil.
    std::size_t i = coil;
    while (i > 0 && parts[i - 1].device == part.device)
        --i;
    for (; i < parts.size() && parts[i].device == part.device; ++i)
        if (is_moved_by_coil(parts[i], circuit.device(part.device)))
            table.contacts.push_back(i);
    return table;
}

double coil_table_column_mm(std::span<const Part> parts, const CoilTable &table) {
    double width = 0;
    for (const std::size_t contact : table.contacts)
        width = std::max(width, place_line_width_mm(parts[contact]));
    return width + 2;
}

double coil_table_width_mm(std::span<const Part> parts, const CoilTable &table) {
    const std::size_t columns =
        std::max<std::size_t>(1, (table.contacts.size() + coil_table_lines - 1) / coil_table_lines);
    return std::max(text_width_mm(table.heading, small_text_mm) + 2,
                    coil_table_column_mm(parts, table) * static_cast<double>(columns));
}

} // namespace stopspan
