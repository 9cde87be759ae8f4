#include "read/species_book.hpp"

#include <fmt/core.h>

#include <algorithm>

#include "read/object_reader.hpp"
#include "text/text.hpp"

namespace coldtank::io {

const std::array<SpeciesField, 9> kSpeciesFields{{
    {"optimum_c", &Species::optimum_c},
    {"warn_above_c", &Species::warn_above_c},
    {"feeding_stop_c", &Species::feeding_stop_c},
    {"fail_above_c", &Species::fail_above_c},
    {"warn_below_c", &Species::warn_below_c},
    {"density_warn_kg_m3", &Species::density_warn_kg_m3},
    {"condition_g_cm3", &Species::condition_g_cm3},
    {"male_mature_months", &Species::male_mature_months},
    {"female_mature_months", &Species::female_mature_months},
}};

namespace {

bool goes_by(const BookEntry& entry, std::string_view name) {
    return same_name(entry.name, name) || same_name(entry.scientific_name, name) ||
           std::any_of(entry.other_names.begin(), entry.other_names.end(),
                       [&](const std::string& other) { return same_name(other, name); });
}

// The limits must come in order, or a taper and a warning make no sense.
void check_order(const ObjectReader& reader, const Species& species) {
    const auto ordered = [&](const char* low_key, double low, const char* high_key, double high,
                             bool strictly) {
        if (low < high || (!strictly && low == high)) return;
        reader.fault(reader.has(high_key) ? high_key : low_key,
                     fmt::format("{} ({}) must be {} {} ({})", low_key, exact(low),
                                 strictly ? "below" : "no more than", high_key, exact(high)));
    };
    ordered("warn_below_c", species.warn_below_c, "warn_above_c", species.warn_above_c, true);
    ordered("warn_above_c", species.warn_above_c, "feeding_stop_c", species.feeding_stop_c, true);
    ordered("warn_above_c", species.warn_above_c, "fail_above_c", species.fail_above_c, false);
}

}  // namespace

SpeciesBook::SpeciesBook() {
    for (const SpeciesEntry& entry : species_table()) {
        entries_.push_back({std::string(entry.name),
                            std::string(entry.scientific_name),
                            {entry.other_names.begin(), entry.other_names.end()},
                            entry.species,
                            std::nullopt});
    }
}

const BookEntry* SpeciesBook::find(std::string_view typed) const noexcept {
    // The last one first: what a file adds stands over what was there.
    if (typed.empty()) return nullptr;
    for (auto entry = entries_.rbegin(); entry != entries_.rend(); ++entry) {
        if (same_name(entry->name, typed)) return &*entry;
    }
    for (const BookEntry& entry : entries_) {
        if (goes_by(entry, typed)) return &entry;
    }
    return nullptr;
}

std::vector<std::string> SpeciesBook::all_names() const {
    std::vector<std::string> names;
    for (const BookEntry& entry : entries_) {
        names.push_back(entry.name);
        names.push_back(entry.scientific_name);
        names.insert(names.end(), entry.other_names.begin(), entry.other_names.end());
    }
    return names;
}

void SpeciesBook::add(const JsonNode& root, std::vector<Fault>& faults) {
    const std::size_t before = faults.size();
    SpeciesBook book = *this;
    const ObjectReader top(root, Scope::species_file, {}, faults);
    top.text("$schema");
    top.number("format");
    const auto nodes = top.list("species");
    for (std::size_t i = 0; i < nodes.size(); ++i) {
        const std::size_t sound = faults.size();
        const ObjectReader reader(nodes[i], Scope::species, pointer_to("/species", i), faults);
        const auto name = reader.text("name");
        const auto like = reader.text("like");
        if (!name) continue;
        const BookEntry* base = book.find(like.value_or(*name));
        if (base == nullptr) {
            reader.fault(like ? "like" : "name",
                         like ? fmt::format("unknown species \"{}\"", printable(*like))
                              : "a new species needs like: the known species to start from");
            continue;
        }
        BookEntry entry{*name,
                        like ? std::string{} : base->scientific_name,
                        {},
                        base->species,
                        base->usual ? base->usual : base->species};
        if (!like) entry.other_names = base->other_names;
        if (const auto latin = reader.text("scientific_name")) entry.scientific_name = *latin;
        if (reader.has("other_names")) entry.other_names.clear();
        for (const JsonNode& other : reader.list("other_names")) {
            if (other.kind == JsonNode::Kind::text && !other.text.empty()) {
                entry.other_names.push_back(other.text);
            } else {
                reader.fault("other_names", "must hold texts");
            }
        }
        for (const SpeciesField& field : kSpeciesFields) {
            const auto value = reader.number(field.key);
            Constant& constant = entry.species.*field.member;
            if (!value || *value == constant) continue;
            constant.value = *value;
            constant.basis = Basis::given;
            constant.source = "your species file";
        }
        if (const JsonNode* sources = reader.object("sources");
            sources != nullptr && sources->kind != JsonNode::Kind::object) {
            reader.fault("sources", "must be an object of texts");
        }
        if (faults.size() == sound) check_order(reader, entry.species);
        const auto same =
            std::find_if(book.entries_.begin(), book.entries_.end(),
                         [&](const BookEntry& each) { return same_name(each.name, entry.name); });
        if (same != book.entries_.end()) {
            entry.name = same->name;
            *same = std::move(entry);
        } else {
            book.entries_.push_back(std::move(entry));
        }
    }
    if (faults.size() == before) *this = std::move(book);
}

}  // namespace coldtank::io
