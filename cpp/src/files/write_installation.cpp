#include "stopspan/files.hpp"
#include "stopspan/rules.hpp"

#include "files/recorded.hpp"
#include "files/verdict_fields.hpp"
#include "files/xml_writer.hpp"

namespace stopspan {
namespace {

struct Text final : pugi::xml_writer {
    std::string text;
    void write(const void *data, std::size_t size) override { text.append(static_cast<const char *>(data), size); }
};

} // namespace

std::string write_installation(const InstallationFile &file, const Proved *proved) {
    const Description &in = file.description;
    pugi::xml_document document;
    pugi::xml_node declaration = document.append_child(pugi::node_declaration);
    declaration.append_attribute("version") = "1.0";
    declaration.append_attribute("encoding") = "UTF-8";
    pugi::xml_node root = document.append_child("installation");
    XmlWriter writer(in, root);
    writer.needed("xmlns", std::string(installation_namespace));
    writer.needed("name", in.name);
    writer.if_known("north_deg", in.north_deg());

    if (in.title_block != TitleBlock())
        write_element(in, root, "title-block", in.title_block);
    const auto write_all = [&](std::string_view name, auto things) {
        for (const auto &each : things)
            write_element(in, root, name, each);
    };
    write_all("supply", in.supplies());
    write_all("board", in.boards());
    write_all("area", in.areas());
    write_all("machine", in.machines());
    write_all("kept-load", in.loads());
    write_all("stop-device", in.stops());
    write_all("zone", in.zones());
    for (const AskedCell &each : in.asked_by_hand()) {
        XmlWriter cell(in, root.append_child("asked"));
        cell.needed("stop_device", each.stop);
        cell.needed(in.is_load(each.machine) ? "kept_load" : "machine", each.machine);
        cell.word("effect", each.asked);
    }
    if (!in.limits().empty()) {
        XmlWriter changed(in, root.append_child("limits"));
        for (const LimitInfo &info : limits())
            if (const auto found = in.limits().find(info.name); found != in.limits().end())
                changed.needed(info.name, found->second);
    }
    for (const std::string &each : in.fault_exclusions())
        XmlWriter(in, root.append_child("fault-exclusion")).needed("name", each);
    for (const Waiver &each : in.waivers()) {
        pugi::xml_node element = root.append_child("waiver");
        XmlWriter waiver(in, element);
        waiver.needed("rule", each.rule);
        waiver.needed("reason", each.reason);
        waiver.needed("name", each.name);
        waiver.needed("date", each.date);
        waiver.if_any("says", each.says);
        for (const std::string &subject : each.subjects)
            write_element(in, element, "subject", Subject{subject});
    }
    for (const TestRecord &each : in.test_records()) {
        XmlWriter record(in, root.append_child("test-record"));
        record.needed("test", each.test);
        record.if_any("device", each.device);
        record.if_any("machine", each.machine);
        record.word("result", each.result);
        record.if_known("run_down_s", each.run_down_s);
        record.needed("name", each.name);
        record.needed("date", each.date);
    }
    write_circuit(in, root, "circuit", file.recorded);
    if (proved) {
        if (proved->wired != file.recorded)
            write_circuit(in, root, "as-wired", proved->wired);
        write_element(in, root, "verdict", proved->verdict);
    }

    Text out;
    document.save(out, "  ", pugi::format_default, pugi::encoding_utf8);
    return out.text;
}

} // namespace stopspan
