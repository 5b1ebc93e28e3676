#include "files/recorded.hpp"

#include "circuit/kinds.hpp"

#include <unordered_set>

namespace stopspan {
namespace {

template <class Value>
void read_parameter(XmlReader &reader, std::string_view name, Parameters &parameters) {
    std::optional<Value> value;
    reader.if_known(name, value);
    if (value)
        parameters.emplace(name, *value);
}

void read_device(const XmlSource &source, pugi::xml_node element, Circuit &circuit) {
    const DeviceKind kind = source.at(source.line(element), [&] { return device_kind(element.name()); });
    std::string designation;
    Parameters parameters;
    std::vector<Connection> connections;
    XmlReader reader(source, element);
    reader.needed("designation", designation);
    for (const ParameterRule &rule : parameter_rules(kind))
        switch (rule.type) {
        case ParameterRule::Type::number:
            read_parameter<double>(reader, rule.name, parameters);
            break;
        case ParameterRule::Type::flag:
            read_parameter<bool>(reader, rule.name, parameters);
            break;
        case ParameterRule::Type::word:
        case ParameterRule::Type::text:
            read_parameter<std::string>(reader, rule.name, parameters);
            break;
        }
    reader.child("terminal");
    const auto found = element.children("terminal");
    const std::vector<pugi::xml_node> terminals(found.begin(), found.end());
    for (const pugi::xml_node each : terminals) {
        XmlReader terminal(source, each);
        fields(terminal, connections.emplace_back());
        terminal.finish();
    }
    reader.finish();
    const auto bad = first_bad_terminal(kind, connections);
    source.at(source.line(bad ? terminals[*bad] : element),
              [&] { return circuit.add(designation, kind, connections, parameters); });
}

void write_parameter(XmlWriter &writer, std::string_view name, const Parameter &parameter) {
    std::visit([&](const auto &value) { writer.usual(name, value); }, parameter);
}

void write_device(const Description &known, pugi::xml_node parent, const Circuit &circuit, const Device &device) {
    const pugi::xml_node element = parent.append_child(std::string(to_text(device.kind)).c_str());
    XmlWriter writer(known, element);
    writer.needed("designation", device.designation);
    for (const auto &[name, value] : device.parameters)
        write_parameter(writer, name, value);
    for (const Device::Terminal &each : device.terminals)
        write_element(known, element, "terminal", Connection{each.name, circuit.net_name(each.net)});
}

} // namespace

std::optional<std::size_t> first_bad_terminal(DeviceKind kind, std::span<const Connection> connections) {
    std::unordered_set<std::string_view> seen;
    for (std::size_t i = 0; i < connections.size(); ++i)
        if (!has_terminal(kind_rule(kind), connections[i].terminal) || !seen.insert(connections[i].terminal).second)
            return i;
    return std::nullopt;
}

Circuit read_circuit(const XmlSource &source, pugi::xml_node element) {
    Circuit circuit;
    for (const pugi::xml_node each : element.children())
        if (each.type() == pugi::node_element)
            read_device(source, each, circuit);
    return circuit;
}

void write_circuit(const Description &known, pugi::xml_node parent, const char *name, const Circuit &circuit) {
    if (circuit.devices().empty())
        return;
    const pugi::xml_node element = parent.append_child(name);
    for (const Device &device : circuit.devices())
        write_device(known, element, circuit, device);
}

} // namespace stopspan
