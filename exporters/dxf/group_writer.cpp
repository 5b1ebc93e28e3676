#include "group_writer.hpp"

#include "text_out.hpp"

namespace stopspan::dxf {
namespace {

void append_escaped(std::string &out, char32_t c) {
    constexpr std::string_view digits = "0123456789ABCDEF";
    out += "\\U+";
    for (int shift = 12; shift >= 0; shift -= 4)
        out += digits[(c >> shift) & 0xF];
}

} // namespace

void GroupWriter::code(int code) {
    std::array<char, 16> text{' ', ' '};
    const std::size_t blanks = code < 10 ? 2 : code < 100 ? 1 : 0;
    char *end = std::to_chars(text.data() + blanks, text.data() + text.size() - 1, code).ptr;
    *end++ = '\n';
    buffer_.append(text.data(), end);
}

void GroupWriter::end_of_pair() {
    buffer_ += '\n';
    if (buffer_.size() > 1 << 16)
        flush();
}

void GroupWriter::flush() {
    if (!buffer_.empty())
        sink_->write(buffer_);
    buffer_.clear();
}

GroupWriter &GroupWriter::word(int group, std::string_view value) {
    if (!sink_)
        return *this;
    code(group);
    buffer_ += value;
    end_of_pair();
    return *this;
}

// Backslash, caret and two percent signs begin codes of their own, so they are escaped; so is, before UTF-8 came, all
// that is not ASCII: characters above U+FFFF as the two that UTF-16 has for them, since the notation has four digits.
GroupWriter &GroupWriter::text(int group, std::string_view utf8) {
    if (!sink_)
        return *this;
    code(group);
    for (std::size_t at = 0; at < utf8.size();) {
        const std::size_t start = at;
        const char32_t c = text_out::next_character(utf8, at);
        if (c == '\\' || c == '^' || (c == '%' && at < utf8.size() && utf8[at] == '%'))
            append_escaped(buffer_, c);
        else if (c < 0x20 || (c >= 0x7F && c < 0xA0) || c == 0x2028 || c == 0x2029) // ends of lines among them
            buffer_ += ' ';
        else if (c > 0xFFFF && version_ != Version::r2007) {
            append_escaped(buffer_, 0xD7C0 + (c >> 10));
            append_escaped(buffer_, 0xDC00 + (c & 0x3FF));
        } else if (c >= 0x80 && version_ != Version::r2007)
            append_escaped(buffer_, c);
        else if (c == 0xFFFD)
            buffer_ += "\xEF\xBF\xBD"; // also for bytes that are no UTF-8
        else
            buffer_ += utf8.substr(start, at - start);
    }
    end_of_pair();
    return *this;
}

GroupWriter &GroupWriter::subclass(std::string_view name) {
    return version_ == Version::r12 ? *this : word(100, name);
}

GroupWriter &GroupWriter::owner(std::uint32_t value) {
    return version_ == Version::r12 ? *this : handle(330, value);
}

GroupWriter &GroupWriter::whole(int group, long long value) {
    return word(group, std::to_string(value));
}

GroupWriter &GroupWriter::real(int group, double value) {
    if (!sink_)
        return *this;
    std::string text = text_out::number(value);
    if (text.find('.') == std::string::npos)
        text += ".0";
    return word(group, text);
}

GroupWriter &GroupWriter::handle(int group, std::uint32_t value) {
    std::array<char, 16> buffer;
    auto end = std::to_chars(buffer.data(), buffer.data() + buffer.size(), value, 16).ptr;
    for (char *c = buffer.data(); c != end; ++c)
        if (*c >= 'a')
            *c = static_cast<char>(*c - 'a' + 'A');
    return word(group, {buffer.data(), static_cast<std::size_t>(end - buffer.data())});
}

GroupWriter &GroupWriter::point(int group, double x, double y) {
    return real(group, x).real(group + 10, y).real(group + 20, 0);
}

std::uint32_t GroupWriter::entity(std::string_view type, std::uint32_t owned_by, std::string_view layer) {
    const std::uint32_t own = new_handle();
    word(0, type).handle(5, own).owner(owned_by).subclass("AcDbEntity").word(8, layer);
    return own;
}

} // namespace stopspan::dxf
