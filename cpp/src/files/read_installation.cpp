#include "stopspan/files.hpp"
#include "stopspan/rules.hpp"

#include "base/words.hpp"
#include "files/reading_order.hpp"
#include "files/recorded.hpp"
#include "files/text_file.hpp"
#include "files/verdict_fields.hpp"
#include "files/xml_reader.hpp"
#include "files/xml_scan.hpp"

#include <unordered_map>

namespace stopspan {
namespace {

using Elements = std::vector<pugi::xml_node>;

Elements elements(pugi::xml_node root, const char *name) {
    const auto found = root.children(name);
    return {found.begin(), found.end()};
}

template <class Value>
void add_all(const XmlSource &source, const Elements &all, Description &description) {
    for (const pugi::xml_node each : all) {
        Value value = read_element<Value>(source, each);
        source.at(source.line(each), [&] { return description.add(std::move(value)); });
    }
}

/// Elements of one kind, each after those of the same kind it refers to.
/// @param references  names it refers to, and the attribute or child that does
template <class References>
Elements in_order(const XmlSource &source, const Elements &all, const std::string &what, const References &references) {
    std::unordered_map<std::string, std::size_t> places;
    for (std::size_t i = 0; i < all.size(); ++i)
        places.emplace(all[i].attribute("name").value(), i);
    std::vector<std::vector<std::size_t>> needs(all.size());
    for (std::size_t i = 0; i < all.size(); ++i)
        for (const std::string &name : references(all[i])) {
            const auto found = places.find(name);
            if (found == places.end()) {
                std::vector<std::string_view> known;
                for (std::size_t k = 0; k < all.size() && k < 20; ++k)
                    known.push_back(all[k].attribute("name").value());
                source.refuse(ErrorCode::unknown_name, source.line(all[i]),
                              what + " " + all[i].attribute("name").value() + ": no " + what + " '" + name +
                                  "'; known: " + listed(known));
            }
            needs[i].push_back(found->second);
        }
    const ReadingOrder found = reading_order(needs);
    if (!found.cycle.empty()) {
        std::string names;
        for (const std::size_t each : found.cycle)
            names += std::string(all[each].attribute("name").value()) + " -> ";
        names += all[found.cycle.front()].attribute("name").value();
        source.refuse(ErrorCode::contradiction, source.line(all[found.cycle.front()]),
                      what + "s refer to each other in a circle: " + names + "; take one of these references away");
    }
    Elements ordered;
    for (const std::size_t each : found.order)
        ordered.push_back(all[each]);
    return ordered;
}

std::vector<std::string> one_attribute(pugi::xml_node element, const char *name) {
    const pugi::xml_attribute found = element.attribute(name);
    return found ? std::vector<std::string>{found.value()} : std::vector<std::string>{};
}

// An area may name the board that stands in it, so areas come first and are told their boards afterwards.
void add_areas_and_boards(const XmlSource &source, pugi::xml_node root, Description &description) {
    const Elements areas = in_order(source, elements(root, "area"), "area",
                                    [](pugi::xml_node each) { return one_attribute(each, "within"); });
    add_all<Area>(source, areas, description);
    add_all<Board>(source,
                   in_order(source, elements(root, "board"), "board",
                            [](pugi::xml_node each) { return one_attribute(each, "fed_from"); }),
                   description);
    for (const pugi::xml_node each : areas)
        if (const pugi::xml_attribute board = each.attribute("board"))
            source.at(source.line(each, "board"), [&] {
                description.feed(description.area(each.attribute("name").value()), description.board(board.value()));
            });
}

void add_zones(const XmlSource &source, pugi::xml_node root, Description &description) {
    const auto references = [](pugi::xml_node zone) {
        std::vector<std::string> names;
        for (const pugi::xml_node through : zone.children("zone"))
            names.emplace_back(through.attribute("ref").value());
        return names;
    };
    add_all<Zone>(source, in_order(source, elements(root, "zone"), "zone", references), description);
}

void add_asked(const XmlSource &source, pugi::xml_node root, Description &description) {
    for (const pugi::xml_node each : root.children("asked")) {
        std::string stop, machine, load;
        Asked effect = Asked::cut;
        XmlReader reader(source, each);
        reader.needed("stop_device", stop);
        reader.if_any("machine", machine);
        reader.if_any("kept_load", load);
        reader.word("effect", effect);
        reader.finish();
        source.at(source.line(each), [&] {
            if (machine.empty() == load.empty())
                throw Error(ErrorCode::missing_value,
                            "<asked> needs either machine=\"...\" or kept_load=\"...\", one of them");
            if (!each.attribute("effect"))
                throw Error(ErrorCode::missing_value, "<asked> needs effect=\"cut\", \"keep\" or \"free\"");
            if (load.empty())
                (void)description.machine(machine);
            else
                (void)description.load(load);
            const std::size_t before = description.asked_by_hand().size();
            description.ask(stop, machine + load, effect);
            if (description.asked_by_hand().size() == before)
                throw Error(ErrorCode::duplicate_name, "stop device " + stop + " and " + machine + load +
                                                           " are asked for twice; leave one <asked> away");
        });
    }
}

void add_limits(const XmlSource &source, pugi::xml_node element, Description &description) {
    XmlReader reader(source, element);
    for (const LimitInfo &info : limits()) {
        std::optional<double> value;
        reader.if_known(info.name, value);
        if (value)
            source.at(source.line(element, info.name), [&] { description.set_limit(info.name, *value); });
    }
    reader.finish();
}

void add_fault_exclusions(const XmlSource &source, pugi::xml_node root, Description &description) {
    for (const pugi::xml_node each : root.children("fault-exclusion")) {
        std::string name;
        XmlReader reader(source, each);
        reader.needed("name", name);
        reader.finish();
        source.at(source.line(each), [&] { description.exclude_faults(name); });
    }
}

void add_waivers(const XmlSource &source, pugi::xml_node root, Description &description) {
    for (const pugi::xml_node each : root.children("waiver")) {
        Waiver waiver;
        std::vector<Subject> subjects;
        XmlReader reader(source, each);
        reader.needed("rule", waiver.rule);
        reader.needed("reason", waiver.reason);
        reader.needed("name", waiver.name);
        reader.needed("date", waiver.date);
        reader.if_any("says", waiver.says);
        reader.children("subject", subjects);
        reader.finish();
        for (Subject &subject : subjects)
            waiver.subjects.push_back(std::move(subject.name));
        source.at(source.line(each), [&] { description.waive(std::move(waiver)); });
    }
}

void add_test_records(const XmlSource &source, pugi::xml_node root, Description &description) {
    for (const pugi::xml_node each : root.children("test-record")) {
        TestRecord record;
        std::string result;
        XmlReader reader(source, each);
        reader.needed("test", record.test);
        reader.if_any("device", record.device);
        reader.if_any("machine", record.machine);
        reader.needed("result", result);
        reader.if_known("run_down_s", record.run_down_s);
        reader.needed("name", record.name);
        reader.needed("date", record.date);
        reader.finish();
        source.at(source.line(each), [&] {
            record.result = test_result(result);
            description.record(std::move(record));
        });
    }
}

pugi::xml_node checked_root(const XmlSource &source, const pugi::xml_document &document) {
    const pugi::xml_node root = document.document_element();
    if (root.name() != std::string_view("installation") || root.attribute("xmlns").value() != installation_namespace)
        source.refuse(ErrorCode::unreadable, source.line(root),
                      "this is no installation file: its root must be <installation xmlns=\"" +
                          std::string(installation_namespace) + "\"> without a prefix");
    return root;
}

} // namespace

InstallationFile read_installation(std::string_view bytes, const std::string &name) {
    const std::string_view xml = without_byte_order_mark(bytes);
    scan_xml(xml, name);
    pugi::xml_document document;
    const pugi::xml_parse_result parsed =
        document.load_buffer(xml.data(), xml.size(), pugi::parse_default, pugi::encoding_utf8);
    if (!parsed)
        throw FileError(ErrorCode::unreadable, name, line_of(xml, static_cast<std::size_t>(parsed.offset)),
                        "broken XML: " + std::string(parsed.description()));

    InstallationFile file;
    const XmlSource source{xml, name, file.description, LineIndex(xml)};
    const pugi::xml_node root = checked_root(source, document);
    XmlReader reader(source, root);
    std::string space;
    reader.needed("xmlns", space);
    reader.needed("name", file.description.name);
    std::optional<double> north_deg;
    reader.if_known("north_deg", north_deg);
    source.at(source.line(root), [&] { file.description.set_north(north_deg); });
    for (const std::string_view each :
         {"title-block", "supply", "board", "area", "machine", "kept-load", "stop-device", "zone", "asked", "limits",
          "fault-exclusion", "waiver", "test-record", "circuit", "as-wired", "verdict"})
        reader.child(each);
    reader.finish();

    const auto at_most_one = [&](const char *child) {
        const pugi::xml_node first = root.child(child);
        if (const pugi::xml_node second = first.next_sibling(child))
            source.refuse(ErrorCode::duplicate_name, source.line(second),
                          "a second <" + std::string(child) + ">; join it with the first");
        return first;
    };
    if (const pugi::xml_node block = at_most_one("title-block"))
        file.description.title_block = read_element<TitleBlock>(source, block);
    add_all<Supply>(source, elements(root, "supply"), file.description);
    add_areas_and_boards(source, root, file.description);
    add_all<Machine>(source, elements(root, "machine"), file.description);
    add_all<KeptLoad>(source, elements(root, "kept-load"), file.description);
    add_all<StopDevice>(source, elements(root, "stop-device"), file.description);
    add_zones(source, root, file.description);
    add_asked(source, root, file.description);
    if (const pugi::xml_node changed = at_most_one("limits"))
        add_limits(source, changed, file.description);
    add_fault_exclusions(source, root, file.description);
    add_waivers(source, root, file.description);
    add_test_records(source, root, file.description);
    if (const pugi::xml_node circuit = at_most_one("circuit"))
        file.recorded = read_circuit(source, circuit);
    if (const pugi::xml_node wired = at_most_one("as-wired"))
        (void)read_circuit(source, wired);
    if (const pugi::xml_node verdict = at_most_one("verdict"))
        (void)read_element<Verdict>(source, verdict);
    return file;
}

} // namespace stopspan
