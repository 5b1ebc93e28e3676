#pragma once

#include "text_out.hpp"

#include "stopspan/exporter.hpp"

#include <string>
#include <string_view>

namespace stopspan::text_out {

/// Writes elements, attributes and character data of XML 1.0. `open` starts a tag; attributes follow; then one of
/// close_start, close_empty or content.
class Markup {
public:
    explicit Markup(ByteSink &sink) : sink_(sink) {}
    ~Markup() { flush(); }
    Markup(const Markup &) = delete;
    Markup &operator=(const Markup &) = delete;

    Markup &raw(std::string_view bytes) {
        buffer_ += bytes;
        return *this;
    }
    Markup &open(std::string_view name) {
        (buffer_ += '<') += name;
        return *this;
    }
    Markup &text(std::string_view attribute, std::string_view value) {
        ((buffer_ += ' ') += attribute) += "=\"";
        escaped(value);
        buffer_ += '"';
        return *this;
    }
    Markup &number(std::string_view attribute, double value) { return text(attribute, text_out::number(value)); }
    void close_start() { end(">\n"); }
    void close_empty() { end("/>\n"); }
    Markup &content(std::string_view words) {
        close_start_inline();
        return characters(words);
    }
    // Where a line end would be a blank.
    void close_start_inline() { buffer_ += '>'; }
    void close_empty_inline() { buffer_ += "/>"; }
    Markup &characters(std::string_view words) {
        escaped(words);
        return *this;
    }
    void close(std::string_view name) {
        (buffer_ += "</") += name;
        end(">\n");
    }

private:
    void end(std::string_view mark) {
        buffer_ += mark;
        if (buffer_.size() > 1 << 16)
            flush();
    }
    void flush() {
        if (!buffer_.empty())
            sink_.write(buffer_);
        buffer_.clear();
    }
    // Characters that XML does not allow become blanks.
    void escaped(std::string_view utf8) {
        for (std::size_t at = 0; at < utf8.size();) {
            const std::size_t from = at;
            const char32_t c = next_character(utf8, at);
            switch (c) {
            case '&':
                buffer_ += "&amp;";
                break;
            case '<':
                buffer_ += "&lt;";
                break;
            case '>':
                buffer_ += "&gt;";
                break;
            case '"':
                buffer_ += "&quot;";
                break;
            case 0xFFFD:
                buffer_ += "\xEF\xBF\xBD";
                break;
            default:
                if (c < 0x20 || c == 0xFFFE || c == 0xFFFF)
                    buffer_ += ' ';
                else
                    buffer_ += utf8.substr(from, at - from);
            }
        }
    }

    ByteSink &sink_;
    std::string buffer_;
};

} // namespace stopspan::text_out
