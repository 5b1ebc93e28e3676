#include "sheets/references.hpp"

#include <algorithm>

namespace stopspan {

void References::add(const CircuitSheet &circuit, const std::string &number) {
    for (const auto &where : circuit.parts) {
        const std::string place = number + "/" + where.place;
        places_.emplace(where.subject, place);
        const Part &part = parts_[where.subject];
        if (part.role == PartRole::load && part.pins.front().terminal != "E1" && part.symbol != "INPUT")
            coils_.emplace(part.device.value, place);
    }
    for (const NetPiece &piece : circuit.pieces) {
        std::vector<std::size_t> &all = pieces_of_[piece.net];
        const std::size_t first = all.empty() ? 0 : all.front();
        all.push_back(pieces_.size());
        if (all.size() > 1 && piece.feeds > pieces_[first].feeds)
            std::rotate(all.begin(), all.end() - 1, all.end());
        pieces_.push_back({piece.net, piece.feeds, number + "/" + piece.place});
    }
}

void References::write(const CircuitSheet &circuit, Sheet &sheet) {
    for (const NetPiece &piece : circuit.pieces)
        if (pieces_of_.at(piece.net).size() == 1)
            sheet.inserts[piece.mark].symbol = "NET_NAME";
    for (const Reference &reference : circuit.references)
        if (const std::string place = text_of(reference, written_); !place.empty()) {
            Text text = reference.text;
            text.text += place;
            sheet.primitives.emplace_back(std::move(text));
        }
    written_ += circuit.pieces.size();
}

std::string References::text_of(const Reference &reference, std::size_t first_piece) const {
    const auto place_in = [&](const auto &places) {
        const auto found = places.find(reference.subject);
        return found == places.end() ? std::string() : found->second;
    };
    switch (reference.to) {
    case Reference::To::coil:
        return place_in(coils_);
    case Reference::To::contact:
        return place_in(places_);
    case Reference::To::device: {
        std::vector<std::string> places;
        for (const std::size_t part : parts_[reference.subject].elsewhere)
            places.push_back(places_.at(static_cast<std::uint32_t>(part)));
        return in_room(places, reference.room_mm);
    }
    case Reference::To::net:
        return in_room(places_elsewhere(first_piece + reference.subject), reference.room_mm);
    }
    return {};
}

std::vector<std::string> References::places_elsewhere(std::size_t piece) const {
    const std::vector<std::size_t> &all = pieces_of_.at(pieces_[piece].net);
    if (piece != all.front())
        return {pieces_[all.front()].place};
    std::vector<std::string> places;
    for (const std::size_t other : all)
        if (other != piece)
            places.push_back(pieces_[other].place);
    return places;
}

// The first place, and how many more the list names.
std::string References::in_room(const std::vector<std::string> &places, double room_mm) const {
    if (places.empty())
        return {};
    const std::string more = places.size() > 1 ? and_more(places.size() - 1) : "";
    return text_width_mm(more, small_text_mm) <= room_mm - reference_width_mm() ? places.front() + more
                                                                                : places.front();
}

std::vector<References::Line> References::list() const {
    std::vector<Line> lines;
    const auto joined = [](std::string &text, const std::string &words) { text += (text.empty() ? "" : ", ") + words; };
    for (std::size_t i = 0; i < parts_.size(); ++i)
        if (parts_[i].elsewhere.size() > 1) {
            const auto label = [&](std::size_t part) {
                return place_label(parts_[part]) + " " + places_.at(static_cast<std::uint32_t>(part));
            };
            std::string text = label(i);
            for (const std::size_t other : parts_[i].elsewhere)
                joined(text, label(other));
            lines.push_back({circuit_.device(parts_[i].device).designation, text});
        }
    for (const auto &[net, all] : pieces_of_) {
        std::string text;
        for (const std::size_t piece : all)
            joined(text, pieces_[piece].place);
        const std::string &name = circuit_.net_name(net), &shown = facts_.shown[net.value];
        if (shown != name)
            lines.push_back({shown, "= " + name + (all.size() > 2 ? ": " + text : "")});
        else if (all.size() > 2)
            lines.push_back({name, text});
    }
    return lines;
}

} // namespace stopspan
