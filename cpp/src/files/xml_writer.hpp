#pragma once

#include "files/fields.hpp"

#include <pugixml.hpp>

#include <string>
#include <string_view>
#include <vector>

namespace stopspan {

/// Writes the fields of one element: the same calls as XmlReader, the other way.
class XmlWriter {
public:
    XmlWriter(const Description &known, pugi::xml_node element) : known_(known), element_(element) {}

    /// @throws Error (bad_value) for text that no XML file can carry
    void needed(std::string_view name, const std::string &value);
    void needed(std::string_view name, double value);
    void usual(std::string_view name, double value) { needed(name, value); }
    void usual(std::string_view name, int value);
    void usual(std::string_view name, bool value);
    void usual(std::string_view name, const std::string &value) { needed(name, value); }
    void if_any(std::string_view name, const std::string &value) { text_or_default(name, value); }
    void if_not_zero(std::string_view name, double value);
    void if_set(std::string_view name, bool value) {
        if (value)
            usual(name, value);
    }
    template <class Value>
    void if_known(std::string_view name, const std::optional<Value> &value) {
        if (value)
            usual(name, *value);
    }
    void text_or_default(std::string_view name, const std::string &value, std::string_view usual = {});
    template <class Word>
    void word(std::string_view name, Word value) {
        needed(name, std::string(to_text(value)));
    }
    template <class Word>
    void word_or_default(std::string_view name, Word value, Word usual) {
        if (value != usual)
            word(name, value);
    }
    template <class Word>
    void word_if_known(std::string_view name, const std::optional<Word> &value) {
        if (value)
            word(name, *value);
    }
    template <class Handle>
    void reference(std::string_view name, Handle value) {
        needed(name, known_[value].name);
    }
    template <class Handle>
    void reference(std::string_view name, const std::optional<Handle> &value) {
        if (value)
            reference(name, *value);
    }
    template <class Handle>
    void late_reference(std::string_view name, const std::optional<Handle> &value) {
        reference(name, value);
    }
    template <class Value>
    void children(std::string_view name, const std::vector<Value> &values);
    template <class Handle>
    void members(std::string_view name, const std::vector<Handle> &handles);

private:
    const Description &known_;
    pugi::xml_node element_;
};

/// Writes one element whole, as the last child of `parent`.
template <class Value>
void write_element(const Description &known, pugi::xml_node parent, std::string_view name, Value value) {
    XmlWriter writer(known, parent.append_child(std::string(name).c_str()));
    fields(writer, value); // by value: fields() serves the reader too and takes what it could change
}

template <class Value>
void XmlWriter::children(std::string_view name, const std::vector<Value> &values) {
    for (const Value &each : values)
        write_element(known_, element_, name, each);
}

template <class Handle>
void XmlWriter::members(std::string_view name, const std::vector<Handle> &handles) {
    for (const Handle each : handles)
        XmlWriter(known_, element_.append_child(std::string(name).c_str())).reference("ref", each);
}

} // namespace stopspan
