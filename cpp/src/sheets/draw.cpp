#include "stopspan/sheets.hpp"

#include "lists/tables.hpp"
#include "sheets/circuit_groups.hpp"
#include "sheets/control_sheets.hpp"
#include "sheets/frame.hpp"
#include "sheets/netlist.hpp"
#include "sheets/single_line.hpp"
#include "sheets/special_sheets.hpp"

#include <algorithm>
#include <map>

namespace stopspan {
namespace {

struct Page {
    Sheet sheet;
    std::string document_type, scale;
    CircuitSheet circuit; ///< references and places; its own sheet is moved out
};

std::string numbered(const std::string &title, std::size_t i, std::size_t count) {
    return count < 2 ? title : title + " (" + std::to_string(i + 1) + " of " + std::to_string(count) + ")";
}

void add_special(std::vector<SpecialSheet> sheets, std::vector<Page> &pages) {
    std::map<std::string, std::size_t> counts, seen;
    for (const SpecialSheet &sheet : sheets)
        ++counts[sheet.sheet.title];
    for (SpecialSheet &sheet : sheets) {
        const std::string title = sheet.sheet.title;
        sheet.sheet.title = numbered(title, seen[title]++, counts[title]);
        pages.push_back({std::move(sheet.sheet), std::move(sheet.document_type), std::move(sheet.scale), {}});
    }
}

// Adds what stands on the right-hand sheet to the left-hand one.
void join(CircuitSheet &left, CircuitSheet right) {
    for (Reference &reference : right.references)
        if (reference.to == Reference::To::net)
            reference.subject += static_cast<std::uint32_t>(left.pieces.size());
    for (NetPiece &piece : right.pieces)
        piece.mark += left.sheet.inserts.size();
    const auto append = [](auto &to, auto &from) { std::move(from.begin(), from.end(), std::back_inserter(to)); };
    append(left.sheet.primitives, right.sheet.primitives);
    append(left.sheet.inserts, right.sheet.inserts);
    append(left.references, right.references);
    append(left.parts, right.parts);
    append(left.pieces, right.pieces);
}

class Circuits {
public:
    Circuits(std::span<const Part> parts, const Circuit &circuit, const NetFacts &facts, const Description &description)
        : parts_(parts), circuit_(circuit), facts_(facts), groups_(circuit_groups(parts, circuit, facts_, description)),
          done_(groups_.size()) {}

    void add(std::vector<Page> &pages) {
        for (std::size_t g = 0; g < groups_.size(); ++g) {
            if (done_[g])
                continue;
            const CircuitGroup &group = groups_[g];
            auto sheets = group.in_rows() ? power_sheets(group.parts, parts_, circuit_, facts_)
                                          : control_sheets(group.parts, parts_, circuit_, facts_);
            const bool joined = group.in_rows() && sheets.size() == 1 && add_control(sheets.front(), g);
            for (std::size_t i = 0; i < sheets.size(); ++i) {
                sheets[i].sheet.title = joined ? group.joint_title : numbered(group.title, i, sheets.size());
                Page page{std::move(sheets[i].sheet), "Circuit diagram", "", std::move(sheets[i])};
                pages.push_back(std::move(page));
            }
        }
    }

private:
    // A power circuit seldom fills a sheet: its control circuit stands beside it when it fits there without being cut.
    bool add_control(CircuitSheet &power, std::size_t g) {
        for (std::size_t i = g + 1; i < groups_.size(); ++i) {
            if (groups_[i].in_rows() || groups_[i].joint_title != groups_[g].joint_title)
                continue;
            const auto alone = control_sheets(groups_[i].parts, parts_, circuit_, facts_);
            const double left_mm = up_to_grid(power.right_mm + between_mm);
            if (alone.size() > 1 || left_mm >= content_right_mm)
                return false;
            auto beside = control_sheets(groups_[i].parts, parts_, circuit_, facts_, left_mm);
            if (beside.size() > 1 || !beside.front().fits || beside.front().paths != alone.front().paths)
                return false;
            join(power, std::move(beside.front()));
            done_[i] = true;
            return true;
        }
        return false;
    }

    static constexpr double between_mm = 20;
    std::span<const Part> parts_;
    const Circuit &circuit_;
    const NetFacts &facts_;
    const std::vector<CircuitGroup> groups_;
    std::vector<bool> done_;
};

// Writes all references and adds their list and what comes after it. Places hold sheet numbers, these depend on how
// many sheets the list of sheets before them takes, and that on how many the list of places takes: tried until it comes
// out right.
// @returns how many sheets the list of sheets takes
std::size_t add_references(std::vector<Page> &content, std::vector<SpecialSheet> after, const References &none) {
    std::vector<IndexEntry> entries;
    for (const Page &page : content)
        entries.emplace_back("", page.sheet.title);
    for (std::size_t lists = index_sheet_count(entries);; ++lists) {
        References references = none;
        for (std::size_t i = 0; i < content.size(); ++i)
            references.add(content[i].circuit, std::to_string(lists + i + 1));
        std::vector<SpecialSheet> places = reference_sheets(references.list());
        std::ranges::copy(after, std::back_inserter(places));
        std::vector<IndexEntry> all = entries;
        for (const SpecialSheet &sheet : places)
            all.emplace_back("", sheet.sheet.title);
        if (index_sheet_count(all) > lists)
            continue;
        for (Page &page : content)
            references.write(page.circuit, page.sheet);
        add_special(std::move(places), content);
        return lists;
    }
}

} // namespace

Drawing draw(const Description &description, const Wired &wired, const Verdict &verdict) {
    const Circuit &circuit = wired.circuit;
    const Listed listed(description, wired, verdict);
    const std::vector<Part> parts = parts_of(circuit, strip_terminals(listed.cabling, listed.locations));
    std::vector<Page> content;
    add_special(plan_sheets(description, verdict), content);
    const NetFacts facts = net_facts(parts, circuit);
    if (!description.supplies().empty())
        add_special(single_line_sheets(parts, circuit, facts, listed.locations), content);
    Circuits(parts, circuit, facts, description).add(content);
    add_special(matrix_sheets(verdict), content);
    std::vector<SpecialSheet> tables = list_sheets(all_lists(listed));
    const std::size_t before = add_references(content, std::move(tables), References(parts, circuit, facts));

    std::vector<IndexEntry> rows;
    for (std::size_t i = 0; i < content.size(); ++i) {
        content[i].sheet.number = std::to_string(before + i + 1);
        rows.emplace_back(content[i].sheet.number, content[i].sheet.title);
    }
    std::vector<Page> pages;
    add_special(index_sheets(rows), pages);
    for (std::size_t i = 0; i < pages.size(); ++i)
        pages[i].sheet.number = std::to_string(i + 1);
    std::move(content.begin(), content.end(), std::back_inserter(pages));

    Drawing drawing;
    drawing.name = description.name;
    for (std::size_t i = 0; i < pages.size(); ++i) {
        add_frame(pages[i].sheet, description.title_block,
                  {description.name, pages[i].document_type, pages[i].scale, i + 1, pages.size()});
        drawing.sheets.push_back(std::move(pages[i].sheet));
    }
    drawing.symbols = used_symbols(drawing.sheets);
    drawing.netlist = netlist_of(circuit);
    return drawing;
}

} // namespace stopspan
