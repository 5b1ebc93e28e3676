#include "stopspan/sheets.hpp"

#include "sheets/circuit_groups.hpp"
#include "sheets/control_sheets.hpp"
#include "sheets/frame.hpp"
#include "sheets/special_sheets.hpp"

#include <algorithm>
#include <map>
#include <set>

namespace stopspan {
namespace {

// Where parts and nets are, so that sheets can point at each other.
class Places {
public:
    void add(const CircuitSheet &sheet, const std::string &number, std::span<const Part> parts) {
        for (const auto &where : sheet.parts) {
            const std::string place = number + "/" + where.place;
            parts_.emplace(where.subject, place);
            const Part &part = parts[where.subject];
            if (part.role == PartRole::load && part.pins.front().terminal != "E1" && part.symbol != "INPUT")
                coils_.emplace(part.device.value, place);
        }
        for (const auto &where : sheet.nets)
            nets_[where.subject].emplace_back(number + "/" + where.place, where.stub);
    }

    std::string find(const Reference &reference, const std::string &here) const {
        if (reference.to == Reference::To::coil || reference.to == Reference::To::contact) {
            const auto &places = reference.to == Reference::To::coil ? coils_ : parts_;
            const auto found = places.find(reference.subject);
            return found == places.end() ? "" : found->second;
        }
        const auto found = nets_.find(reference.subject);
        if (found == nets_.end())
            return "";
        std::string other;
        for (const auto &[place, stub] : found->second) { // where the net is joined up, else another stub
            if (place == here)
                continue;
            if (!stub)
                return place;
            if (other.empty())
                other = place;
        }
        return other;
    }

private:
    std::map<std::uint32_t, std::string> parts_, coils_;
    std::map<std::uint32_t, std::vector<std::pair<std::string, bool>>> nets_;
};

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

void add_circuits(const Description &description, const Circuit &circuit, std::span<const Part> parts,
                  std::vector<Page> &pages) {
    const NetFacts facts = net_facts(parts, circuit);
    for (const CircuitGroup &group : circuit_groups(parts, circuit, facts, description)) {
        auto sheets = group.in_rows() ? power_sheets(group.parts, parts, circuit, facts)
                                      : control_sheets(group.parts, parts, circuit, facts);
        for (std::size_t i = 0; i < sheets.size(); ++i) {
            sheets[i].sheet.title = numbered(group.title, i, sheets.size());
            Page page{std::move(sheets[i].sheet), "Circuit diagram", "", std::move(sheets[i])};
            pages.push_back(std::move(page));
        }
    }
}

void resolve_references(std::vector<Page> &pages, std::span<const Part> parts) {
    Places places;
    for (const Page &page : pages)
        places.add(page.circuit, page.sheet.number, parts);
    for (Page &page : pages) {
        std::map<std::uint32_t, std::size_t> next; // references to a net come in the order of its places here
        std::map<std::uint32_t, std::vector<std::string>> stubs;
        for (const auto &where : page.circuit.nets)
            if (where.stub)
                stubs[where.subject].push_back(page.sheet.number + "/" + where.place);
        for (const Reference &reference : page.circuit.references) {
            std::string here;
            if (reference.to == Reference::To::net)
                here = stubs[reference.subject][next[reference.subject]++];
            const std::string place = places.find(reference, here);
            if (place.empty())
                continue;
            Text text = reference.text;
            text.text += place;
            page.sheet.primitives.emplace_back(std::move(text));
        }
    }
}

std::vector<Symbol> used_symbols(const std::vector<Sheet> &sheets) {
    std::set<std::string_view> names;
    for (const Sheet &sheet : sheets)
        for (const Insert &insert : sheet.inserts)
            names.insert(insert.symbol);
    std::vector<Symbol> symbols;
    for (const std::string_view name : names)
        symbols.push_back(symbol_shape(name).symbol);
    return symbols;
}

} // namespace

Drawing draw(const Description &description, const Circuit &circuit, const Verdict &verdict) {
    const std::vector<Part> parts = parts_of(circuit);
    std::vector<Page> content;
    add_special(plan_sheets(description, verdict), content);
    add_circuits(description, circuit, parts, content);
    add_special(matrix_sheets(verdict), content);

    const std::size_t lists = index_sheet_count(content.size());
    std::vector<std::pair<std::string, std::string>> rows;
    for (std::size_t i = 0; i < content.size(); ++i) {
        content[i].sheet.number = std::to_string(lists + i + 1);
        rows.emplace_back(content[i].sheet.number, content[i].sheet.title);
    }
    resolve_references(content, parts);
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
    return drawing;
}

} // namespace stopspan
