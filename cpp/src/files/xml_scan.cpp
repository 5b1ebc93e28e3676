#include "files/xml_scan.hpp"

#include "base/names.hpp"
#include "files/text_file.hpp"
#include "stopspan/error.hpp"

#include <algorithm>
#include <charconv>
#include <regex>
#include <vector>

namespace stopspan {
namespace {

bool is_blank(char c) {
    return c == ' ' || c == '\t' || c == '\n' || c == '\r';
}

class Scanner {
public:
    Scanner(std::string_view xml, const std::string &file) : xml_(xml), file_(file) {}

    void run() {
        if (const std::size_t first = xml_.find_first_not_of(" \t\r\n"); first < xml_.size() && xml_[first] != '<')
            refuse_at(first, "this is no installation file, which is XML; a wiring table has a name that ends in .csv");
        declaration();
        while (at_ < xml_.size()) {
            if (xml_[at_] == '<')
                markup();
            else
                text();
        }
        if (open_ != 0)
            refuse("the file ends before every element is closed; is it cut off?");
        if (roots_ == 0)
            refuse("there is no element <installation> in it");
    }

private:
    [[noreturn]] void refuse(const std::string &message) const { refuse_at(at_, message); }
    [[noreturn]] void refuse_at(std::size_t offset, const std::string &message) const {
        throw FileError(ErrorCode::unreadable, file_, line_of(xml_, offset), message);
    }
    bool next(std::string_view word) const { return xml_.substr(at_, word.size()) == word; }

    void declaration() {
        if (!next("<?xml") || at_ + 5 >= xml_.size() || !is_blank(xml_[at_ + 5]))
            return;
        constexpr std::size_t longest_declaration = 200;
        const std::size_t end = xml_.substr(0, longest_declaration).find("?>");
        static const std::regex form(R"x(<\?xml\s+version\s*=\s*("1\.0"|'1\.0'))x"
                                     R"x((\s+encoding\s*=\s*("[Uu][Tt][Ff]-8"|'[Uu][Tt][Ff]-8'))?)x"
                                     R"x((\s+standalone\s*=\s*("(yes|no)"|'(yes|no)'))?\s*)x");
        if (end == std::string_view::npos || !std::regex_match(xml_.begin(), xml_.begin() + end, form))
            refuse("the XML declaration must be <?xml version=\"1.0\" encoding=\"UTF-8\"?>; save the file as UTF-8");
        at_ = end + 2;
    }

    void text() {
        const std::size_t end = std::min(xml_.find('<', at_), xml_.size());
        for (; at_ < end; ++at_)
            if (!is_blank(xml_[at_]))
                refuse("text between elements has no meaning here; values stand in attributes");
    }

    void markup() {
        if (next("<!--"))
            comment();
        else if (next("<![CDATA["))
            refuse("text between elements has no meaning here; values stand in attributes");
        else if (next("<!"))
            refuse("a document type or entity declaration is refused; leave it away");
        else if (next("<?"))
            refuse("a processing instruction is refused; leave it away");
        else if (next("</"))
            end_tag();
        else
            start_tag();
    }

    void comment() {
        const std::size_t end = xml_.find("--", at_ + 4);
        if (end == std::string_view::npos || xml_.substr(end, 3) != "-->")
            refuse("a comment must end with --> and have no -- inside");
        at_ = end + 3;
    }

    void end_tag() {
        const std::size_t end = xml_.find('>', at_);
        if (end == std::string_view::npos || open_ == 0)
            refuse("a closing tag that closes nothing");
        --open_;
        at_ = end + 1;
    }

    void start_tag() {
        const std::size_t start = at_;
        if (open_ == 0 && roots_++ > 0)
            refuse("a second root element; there must be one <installation>");
        ++at_;
        skip_name("an element name");
        std::vector<std::string_view> seen;
        for (;;) {
            const std::size_t before = at_;
            while (at_ < xml_.size() && is_blank(xml_[at_]))
                ++at_;
            if (at_ >= xml_.size())
                refuse_at(start, "a tag is not closed");
            if (next("/>")) {
                at_ += 2;
                return;
            }
            if (next(">")) {
                ++at_;
                if (++open_ > deepest_element)
                    refuse_at(start, "elements are nested deeper than " + std::to_string(deepest_element));
                return;
            }
            if (at_ == before)
                refuse("a blank is missing between attributes, or a quote is not closed");
            attribute(seen);
        }
    }

    void attribute(std::vector<std::string_view> &seen) {
        const std::size_t start = at_;
        skip_name("an attribute name");
        const std::string_view name = xml_.substr(start, at_ - start);
        if (std::find(seen.begin(), seen.end(), name) != seen.end())
            refuse("attribute " + std::string(name) + " is given twice; give it once");
        seen.push_back(name);
        const auto skip_blanks = [&] {
            while (at_ < xml_.size() && is_blank(xml_[at_]))
                ++at_;
        };
        skip_blanks();
        if (!next("="))
            refuse("attribute " + std::string(name) + " has no value; write " + std::string(name) + "=\"...\"");
        ++at_;
        skip_blanks();
        if (!next("\"") && !next("'"))
            refuse("the value of " + std::string(name) + " must stand in quotes");
        const char quote = xml_[at_++];
        for (; at_ < xml_.size() && xml_[at_] != quote; ++at_) {
            if (xml_[at_] == '<')
                refuse_at(start, "< inside a value, or a quote is not closed; write &lt;");
            if (xml_[at_] == '&')
                reference();
        }
        if (at_ >= xml_.size())
            refuse_at(start, "the quote of " + std::string(name) + " is not closed");
        ++at_;
    }

    // Letters of the names of this format; whatever else XML allows in a name is in none of them.
    void skip_name(const std::string &what) {
        const std::size_t start = at_;
        const auto part = [](unsigned char c) {
            return (c >= 'A' && c <= 'Z') || (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || c == '_' || c == '-' ||
                   c == '.' || c == ':' || c >= 0x80;
        };
        while (at_ < xml_.size() && part(static_cast<unsigned char>(xml_[at_])))
            ++at_;
        const char first = at_ > start ? xml_[start] : '-';
        if (first == '-' || first == '.' || (first >= '0' && first <= '9'))
            refuse_at(start, what + " is missing or not well-formed");
    }

    void reference() {
        const std::size_t end = xml_.find(';', at_);
        const std::string_view word = end == std::string_view::npos ? "" : xml_.substr(at_ + 1, end - at_ - 1);
        for (const std::string_view known : {"amp", "lt", "gt", "quot", "apos"})
            if (word == known)
                return;
        if (word.starts_with('#') && is_character(word.substr(1)))
            return;
        refuse("& begins no known entity (amp, lt, gt, quot, apos, #number); write &amp; for the sign itself");
    }

    static bool is_character(std::string_view digits) {
        const int base = digits.starts_with('x') ? 16 : 10;
        if (base == 16)
            digits.remove_prefix(1);
        unsigned long code = 0;
        const auto result = std::from_chars(digits.data(), digits.data() + digits.size(), code, base);
        return result.ec == std::errc() && result.ptr == digits.data() + digits.size() && is_xml_character(code);
    }

    std::string_view xml_;
    const std::string &file_;
    std::size_t at_ = 0;
    std::size_t open_ = 0;
    std::size_t roots_ = 0;
};

} // namespace

void scan_xml(std::string_view xml, const std::string &file) {
    check_text_file(xml, file);
    Scanner(xml, file).run();
}

} // namespace stopspan
