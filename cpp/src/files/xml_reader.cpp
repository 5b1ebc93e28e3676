#include "files/xml_reader.hpp"

#include "base/number_text.hpp"
#include "base/words.hpp"

#include <algorithm>
#include <charconv>

namespace stopspan {

std::size_t XmlSource::line(pugi::xml_node element) const {
    const std::ptrdiff_t offset = element.offset_debug();
    return offset < 0 ? 0 : lines.line(static_cast<std::size_t>(offset));
}

// The tree does not know where attributes stand, so the start tag is walked: name, quote, value, quote, name ...
std::size_t XmlSource::line(pugi::xml_node element, std::string_view attribute) const {
    const std::ptrdiff_t offset = element.offset_debug();
    if (offset < 0)
        return 0;
    std::size_t at = xml.find_first_of(" \t\r\n/>", static_cast<std::size_t>(offset));
    while (at < xml.size()) {
        const std::size_t name = xml.find_first_not_of(" \t\r\n", at);
        const std::size_t quote = xml.find_first_of("\"'>", name);
        if (quote == std::string_view::npos || xml[quote] == '>')
            break;
        const std::string_view found = xml.substr(name, xml.find_first_of(" \t\r\n=", name) - name);
        if (found == attribute)
            return lines.line(name);
        at = xml.find(xml[quote], quote + 1);
        at = at == std::string_view::npos ? at : at + 1;
    }
    return line(element);
}

void XmlSource::refuse(ErrorCode code, std::size_t line_number, const std::string &message) const {
    throw FileError(code, file, line_number, message);
}

// As in the file, with the attribute by which people know it.
std::string XmlReader::this_element() const {
    const std::string tag = "<" + std::string(element_.name());
    for (const char *known_by : {"name", "designation", "ref"})
        if (const pugi::xml_attribute given = element_.attribute(known_by))
            return tag + " " + known_by + "='" + given.value() + "'>";
    return tag + ">";
}

const std::string *XmlReader::attribute(std::string_view name) {
    attributes_.push_back(name);
    for (const pugi::xml_attribute each : element_.attributes())
        if (each.name() == name) {
            value_ = each.value();
            return &value_;
        }
    return nullptr;
}

const std::string &XmlReader::needed_attribute(std::string_view name) {
    if (const std::string *text = attribute(name))
        return *text;
    source_.refuse(ErrorCode::missing_value, source_.line(element_),
                   this_element() + " needs " + std::string(name) + "=\"...\"");
}

double XmlReader::number(std::string_view name, const std::string &text) const {
    if (const auto value = parse_number(text))
        return *value;
    source_.refuse(ErrorCode::bad_value, line(name),
                   this_element() + " " + std::string(name) + "='" + text +
                       "' is not a finite number; write one as 12.5, with a point and no unit");
}

int XmlReader::whole_number(std::string_view name, const std::string &text) const {
    int value = 0;
    const auto result = std::from_chars(text.data(), text.data() + text.size(), value);
    if (result.ec == std::errc() && result.ptr == text.data() + text.size())
        return value;
    source_.refuse(ErrorCode::bad_value, line(name),
                   this_element() + " " + std::string(name) + "='" + text + "' is not a whole number; write one as 2");
}

void XmlReader::needed(std::string_view name, std::string &value) {
    value = needed_attribute(name);
}
void XmlReader::needed(std::string_view name, double &value) {
    value = number(name, needed_attribute(name));
}
void XmlReader::usual(std::string_view name, double &value) {
    if (const std::string *text = attribute(name))
        value = number(name, *text);
}
void XmlReader::usual(std::string_view name, int &value) {
    if (const std::string *text = attribute(name))
        value = whole_number(name, *text);
}
void XmlReader::usual(std::string_view name, bool &value) {
    std::optional<bool> known;
    if_known(name, known);
    value = known.value_or(value);
}
void XmlReader::if_known(std::string_view name, std::optional<bool> &value) {
    const std::string *text = attribute(name);
    if (text && *text != "true" && *text != "false")
        source_.refuse(ErrorCode::bad_value, line(name),
                       this_element() + " " + std::string(name) + "='" + *text + "' must be true or false");
    if (text)
        value = *text == "true";
}
void XmlReader::if_any(std::string_view name, std::string &value) {
    const std::string *text = attribute(name);
    if (text && text->empty())
        source_.refuse(ErrorCode::bad_value, line(name),
                       this_element() + " " + std::string(name) + " is empty; leave the attribute away instead");
    if (text)
        value = *text;
}
void XmlReader::if_known(std::string_view name, std::optional<double> &value) {
    if (const std::string *text = attribute(name))
        value = number(name, *text);
}
void XmlReader::if_known(std::string_view name, std::optional<int> &value) {
    if (const std::string *text = attribute(name))
        value = whole_number(name, *text);
}
void XmlReader::if_known(std::string_view name, std::optional<std::string> &value) {
    if (const std::string *text = attribute(name))
        value = *text;
}
void XmlReader::text_or_default(std::string_view name, std::string &value, std::string_view) {
    if (const std::string *text = attribute(name))
        value = *text;
}

void XmlReader::finish() const {
    const std::string tag = "<" + std::string(element_.name()) + ">";
    const auto known = [](const std::vector<std::string_view> &names) {
        return names.empty() ? std::string("it has none") : "known: " + listed(names);
    };
    for (const pugi::xml_attribute each : element_.attributes())
        if (std::find(attributes_.begin(), attributes_.end(), each.name()) == attributes_.end())
            source_.refuse(ErrorCode::unreadable, line(each.name()),
                           tag + " has no attribute '" + each.name() + "'; " + known(attributes_));
    std::size_t reached = 0;
    for (const pugi::xml_node each : element_.children()) {
        if (each.type() != pugi::node_element)
            continue;
        const auto found = std::find(children_.begin(), children_.end(), each.name());
        if (found == children_.end())
            source_.refuse(ErrorCode::unreadable, source_.line(each),
                           tag + " has no element <" + each.name() + ">; " + known(children_));
        const auto place = static_cast<std::size_t>(found - children_.begin());
        if (place < reached)
            source_.refuse(ErrorCode::unreadable, source_.line(each),
                           "<" + std::string(each.name()) + "> must stand before <" + std::string(children_[reached]) +
                               ">");
        reached = place;
    }
}

} // namespace stopspan
