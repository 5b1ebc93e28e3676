#pragma once

#include "files/fields.hpp"
#include "files/text_file.hpp"
#include "stopspan/error.hpp"

#include <pugixml.hpp>

#include <string>
#include <string_view>
#include <vector>

namespace stopspan {

/// The file an element stands in, for messages.
struct XmlSource {
    std::string_view xml;
    std::string file;
    const Description &known; ///< where names are looked up
    LineIndex lines;

    std::size_t line(pugi::xml_node element) const;
    std::size_t line(pugi::xml_node element, std::string_view attribute) const;
    [[noreturn]] void refuse(ErrorCode code, std::size_t line, const std::string &message) const;
    /// Does something for an element; an Error on the way becomes one with file and line.
    template <class Work>
    auto at(std::size_t line, const Work &work) const;
};

/// Reads the fields of one element. finish() then refuses every attribute and child that was not read.
class XmlReader {
public:
    XmlReader(const XmlSource &source, pugi::xml_node element) : source_(source), element_(element) {}

    void needed(std::string_view name, std::string &value);
    void needed(std::string_view name, double &value);
    void usual(std::string_view name, double &value); ///< absent: stays as it is
    void usual(std::string_view name, int &value);
    void usual(std::string_view name, bool &value);
    void if_any(std::string_view name, std::string &value); ///< absent: empty; present: not empty
    void if_not_zero(std::string_view name, double &value) { usual(name, value); }
    void if_set(std::string_view name, bool &value) { usual(name, value); }
    void if_known(std::string_view name, std::optional<double> &value);
    void if_known(std::string_view name, std::optional<int> &value);
    void if_known(std::string_view name, std::optional<bool> &value);
    void if_known(std::string_view name, std::optional<std::string> &value);
    void text_or_default(std::string_view name, std::string &value, std::string_view = {});
    template <class Word>
    void word(std::string_view name, Word &value);
    template <class Word>
    void word_or_default(std::string_view name, Word &value, Word) {
        word(name, value);
    }
    template <class Word>
    void word_if_known(std::string_view name, std::optional<Word> &value);
    template <class Handle>
    void reference(std::string_view name, Handle &value);
    template <class Handle>
    void reference(std::string_view name, std::optional<Handle> &value);
    /// A reference to something not read yet: left to the caller.
    template <class Handle>
    void late_reference(std::string_view name, std::optional<Handle> &) {
        attributes_.push_back(name);
    }
    template <class Value>
    void children(std::string_view name, std::vector<Value> &values);
    template <class Handle>
    void members(std::string_view name, std::vector<Handle> &handles);
    /// A child this reader lets others read.
    void child(std::string_view name) { children_.push_back(name); }
    void finish() const;

private:
    std::string this_element() const;
    /// Looks up what an attribute names; an Error says for which element.
    template <class Work>
    auto looked_up(std::string_view name, const Work &work) const;
    const std::string *attribute(std::string_view name);
    const std::string &needed_attribute(std::string_view name);
    std::size_t line(std::string_view attribute) const { return source_.line(element_, attribute); }
    double number(std::string_view name, const std::string &text) const;
    int whole_number(std::string_view name, const std::string &text) const;

    const XmlSource &source_;
    pugi::xml_node element_;
    std::vector<std::string_view> attributes_, children_;
    std::string value_;
};

/// Reads one element whole.
template <class Value>
Value read_element(const XmlSource &source, pugi::xml_node element) {
    Value value{};
    XmlReader reader(source, element);
    fields(reader, value);
    reader.finish();
    return value;
}

// ---------------------------------------------------------------------------------------- templates

template <class Work>
auto XmlSource::at(std::size_t line_number, const Work &work) const {
    try {
        return work();
    } catch (const FileError &) {
        throw;
    } catch (const Error &error) {
        refuse(error.code(), line_number, error.what());
    }
}

template <class Work>
auto XmlReader::looked_up(std::string_view name, const Work &work) const {
    try {
        return work();
    } catch (const Error &error) {
        source_.refuse(error.code(), line(name), this_element() + " " + std::string(name) + ": " + error.what());
    }
}

template <class Word>
void XmlReader::word(std::string_view name, Word &value) {
    if (const std::string *text = attribute(name))
        value = looked_up(name, [&] { return from_text(*text, Word{}); });
}

template <class Word>
void XmlReader::word_if_known(std::string_view name, std::optional<Word> &value) {
    if (const std::string *text = attribute(name))
        value = looked_up(name, [&] { return from_text(*text, Word{}); });
}

template <class Handle>
void XmlReader::reference(std::string_view name, Handle &value) {
    const std::string &text = needed_attribute(name);
    value = looked_up(name, [&] { return from_name(source_.known, text, Handle{}); });
}

template <class Handle>
void XmlReader::reference(std::string_view name, std::optional<Handle> &value) {
    if (const std::string *text = attribute(name))
        value = looked_up(name, [&] { return from_name(source_.known, *text, Handle{}); });
}

template <class Value>
void XmlReader::children(std::string_view name, std::vector<Value> &values) {
    child(name);
    const std::string tag(name); // the tree compares with it while it walks
    for (const pugi::xml_node each : element_.children(tag.c_str()))
        values.push_back(read_element<Value>(source_, each));
}

template <class Handle>
void XmlReader::members(std::string_view name, std::vector<Handle> &handles) {
    child(name);
    const std::string tag(name); // the tree compares with it while it walks
    for (const pugi::xml_node each : element_.children(tag.c_str())) {
        XmlReader reader(source_, each);
        reader.reference("ref", handles.emplace_back());
        reader.finish();
    }
}

} // namespace stopspan
