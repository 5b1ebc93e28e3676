#include "files/xml_writer.hpp"

#include "base/names.hpp"
#include "base/number_text.hpp"
#include "stopspan/error.hpp"

namespace stopspan {

void XmlWriter::needed(std::string_view name, const std::string &value) {
    if (!is_plain_text(value))
        throw Error(ErrorCode::bad_value, "<" + std::string(element_.name()) + "> " + std::string(name) +
                                              " holds a control character or is not UTF-8, which no XML file can "
                                              "carry; correct the text");
    element_.append_attribute(std::string(name).c_str()).set_value(value.c_str());
}
void XmlWriter::needed(std::string_view name, double value) {
    needed(name, format_number(value));
}
void XmlWriter::usual(std::string_view name, int value) {
    needed(name, std::to_string(value));
}
void XmlWriter::usual(std::string_view name, bool value) {
    needed(name, std::string(value ? "true" : "false"));
}
void XmlWriter::if_not_zero(std::string_view name, double value) {
    if (value != 0)
        needed(name, value);
}
void XmlWriter::text_or_default(std::string_view name, const std::string &value, std::string_view usual_text) {
    if (value != usual_text)
        needed(name, value);
}

} // namespace stopspan
