#include "report/schema.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <map>
#include <stdexcept>
#include <variant>

#include "read/keys.hpp"
#include "report/about.hpp"
#include "report/contents.hpp"
#include "text/text.hpp"

namespace coldtank::io {
namespace {

// A value of JSON, made of others; keys stay in order.
class Json {
public:
    using Members = std::vector<std::pair<std::string, Json>>;
    using Items = std::vector<Json>;

    Json() : value_(Members{}) {}
    Json(std::initializer_list<std::pair<std::string_view, Json>> members) : Json() {
        for (const auto& [key, value] : members) (*this)[key] = value;
    }
    Json(std::string_view text) : value_(std::string(text)) {}
    Json(const char* text) : Json(std::string_view(text)) {}
    Json(const std::string& text) : value_(text) {}
    Json(bool truth) : value_(truth) {}
    template <class Number>
    requires std::is_arithmetic_v<Number> Json(Number number)
        : value_(static_cast<double>(number)) {}
    Json(Items items) : value_(std::move(items)) {}
    static Json list(std::initializer_list<Json> items) { return Items(items); }

    // Of an object; a new key comes last.
    Json& operator[](std::string_view key) {
        auto& members = std::get<Members>(value_);
        for (auto& [name, value] : members) {
            if (name == key) return value;
        }
        return members.emplace_back(key, Json()).second;
    }
    const Members& members() const { return std::get<Members>(value_); }

    void write(std::string_view key, JsonWriter& out) const {
        if (const auto* members = std::get_if<Members>(&value_)) {
            out.begin_object(key);
            for (const auto& [name, value] : *members) value.write(name, out);
            out.end_object();
        } else if (const auto* items = std::get_if<Items>(&value_)) {
            out.begin_list(key);
            for (const Json& item : *items) item.write({}, out);
            out.end_list();
        } else if (const auto* text = std::get_if<std::string>(&value_)) {
            out.text(key, *text);
        } else if (const auto* truth = std::get_if<bool>(&value_)) {
            out.truth(key, *truth);
        } else {
            out.number(key, std::get<double>(value_));
        }
    }

private:
    std::variant<Members, Items, std::string, double, bool> value_;
};

std::string page_of(const Json& json) {
    JsonWriter out(JsonWriter::Style::page);
    json.write({}, out);
    return out.take();
}

// What an object or a list of a key holds.
struct Holds {
    Scope in;
    std::string_view key;
    std::string_view definition;
};
constexpr Holds kHolds[] = {
    {Scope::description, "site", "site"},
    {Scope::description, "tanks", "tank"},
    {Scope::site, "limits", "limits"},
    {Scope::tank, "water", "water"},
    {Scope::tank, "inflow", "inflow"},
    {Scope::tank, "fish", "fish"},
    {Scope::tank, "feed", "feed"},
    {Scope::tank, "aeration", "aerator"},
    {Scope::description, "trips", "trip"},
    {Scope::trip, "fish", "fish"},
    {Scope::trip, "aeration", "aerator"},
    {Scope::trip, "water_change", "water_change"},
    {Scope::description, "season", "season"},
    {Scope::season, "thinning", "thinning"},
    {Scope::tank, "backup", "backup"},
    {Scope::site, "backup", "backup"},
    {Scope::tank, "limits", "limits"},
    {Scope::tank, "loop", "loop_flow"},
    {Scope::description, "loops", "loop"},
    {Scope::loop, "water", "loop_water"},
    {Scope::loop, "makeup", "makeup"},
    {Scope::loop, "biofilter", "biofilter"},
    {Scope::loop, "plants", "plants"},
    {Scope::loop, "aeration", "aerator"},
    {Scope::loop, "limits", "limits"},
    {Scope::description, "coefficients", "coefficients"},
    {Scope::description, "accuracy", "accuracy"},
};

Json reference(std::string_view definition) {
    return {{"$ref", fmt::format("#/$defs/{}", definition)}};
}

std::string_view held_by(Scope scope, std::string_view key) {
    const auto* at = std::find_if(std::begin(kHolds), std::end(kHolds), [&](const Holds& holds) {
        return holds.in == scope && holds.key == key;
    });
    return at == std::end(kHolds) ? std::string_view{} : at->definition;
}

Json::Items words_of(std::string_view choices) {
    const std::vector<std::string_view> words = choices_of(choices);
    return {words.begin(), words.end()};
}

Json number_schema(const Key& key, const Unit* unit) {
    const auto shown = [&](double base) {
        return unit == nullptr ? base : base / unit->factor + unit->zero;
    };
    Json out{{"type", key.kind == KeyKind::whole ? "integer" : "number"}};
    if (key.low == key.high) return {{"const", key.low}};
    if (key.above_low && key.low == 0) {
        out["minimum"] = kLeastWritten;
    } else {
        out[key.above_low ? "exclusiveMinimum" : "minimum"] = shown(key.low);
    }
    out["maximum"] = shown(key.high);
    return out;
}

Json value_schema(Scope scope, const Key& key, const Unit* unit) {
    Json out;
    switch (key.kind) {
        case KeyKind::number:
        case KeyKind::whole:
            out = number_schema(key, unit);
            break;
        case KeyKind::text:
            if (key.choices.empty()) {
                out = {{"type", "string"}, {"pattern", "[^ \\t\\r\\n]"}};
                break;
            }
            out["enum"] = words_of(key.choices);
            break;
        case KeyKind::truth:
            out = {{"type", "boolean"}};
            break;
        case KeyKind::object:
            out = reference(held_by(scope, key.name));
            break;
        case KeyKind::list:
            out = {{"type", "array"}, {"items", reference(held_by(scope, key.name))}};
            break;
        case KeyKind::numbers:
            out = {{"type", "array"},
                   {"items", number_schema(key, unit)},
                   {"minItems", kNumbers},
                   {"maxItems", kNumbers}};
            break;
        case KeyKind::objects: {
            const Json one = reference(held_by(scope, key.name));
            out = {
                {"anyOf", Json::list({one, {{"type", "array"}, {"items", one}, {"minItems", 1}}})}};
            break;
        }
    }
    out["description"] = key.about;
    if (const auto usual = usual_of(scope, key); usual && unit == nullptr) out["default"] = *usual;
    if (scope == Scope::fish && key.name == "species") {
        Json::Items names;
        for (const SpeciesEntry& entry : species_table()) {
            names.emplace_back(entry.name);
            for (const std::string_view other : entry.other_names) names.emplace_back(other);
        }
        out["examples"] = names;
    }
    return out;
}

Json::Items one_of(const std::vector<std::string>& keys) {
    Json::Items any;
    for (const std::string& key : keys) any.push_back(Json{{"required", Json::list({key})}});
    return any;
}

// Keys that stand in for each other: one of them at least, or at most one.
struct Pair {
    Scope in;
    std::string_view one;
    std::string_view other;
    bool required;
    bool exclusive;
};
constexpr Pair kPairs[] = {
    {Scope::site, "altitude_m", "barometric_pressure_kpa", true, false},
    {Scope::diffuser, "bubble", "transfer_percent_per_m", true, true},
    {Scope::inflow, "oxygen_mg_l", "oxygen_percent", false, true},
    {Scope::inflow, "carbon_dioxide_mg_l", "ph", false, true},
    {Scope::tank, "inflow", "loop", false, true},
    {Scope::biofilter, "media_area_m2", "removal_g_day", true, true},
    {Scope::feed, "ration_g_day", "ration_percent_day", false, true},
    {Scope::fish, "count", "per_m3", true, true},
    {Scope::fish, "mean_weight_g", "mean_length_cm", false, true},
    {Scope::fish, "mean_weight_g", "total_kg", false, true},
    {Scope::fish, "mean_length_cm", "total_kg", false, true},
};

void add_pairs(Scope scope, Json::Items& all) {
    for (const Pair& pair : kPairs) {
        if (pair.in != scope) continue;
        const Json one{{"anyOf", one_of(spellings(*match_key(scope, pair.one).key))}};
        const Json other{{"anyOf", one_of(spellings(*match_key(scope, pair.other).key))}};
        const Json both = Json::list({one, other});
        if (pair.required) all.push_back(Json{{"anyOf", both}});
        if (pair.exclusive) all.push_back(Json{{"not", {{"allOf", both}}}});
    }
    if (scope == Scope::fish) {
        // What one weighs, told in one of three ways.
        Json::Items any;
        for (const std::string_view key : {"mean_weight_g", "mean_length_cm", "total_kg"}) {
            any.push_back(Json{{"anyOf", one_of(spellings(*match_key(scope, key).key))}});
        }
        all.push_back(Json{{"anyOf", any}});
    }
    if (scope == Scope::description) {
        // Tanks or trips, and not an empty list of them.
        Json::Items any;
        for (const std::string_view key : {"tanks", "trips"}) {
            any.push_back(Json{
                {"required", Json::list({std::string(key)})},
                {"properties",
                 {{key, {{"minItems", 1}, {"description", match_key(scope, key).key->about}}}}}});
        }
        all.push_back(Json{{"anyOf", any}});
    }
    if (scope == Scope::tank) {
        // A tank has its own temperature, its loop's, or that of the tanks above it.
        const Json temperature{
            {"anyOf", one_of(spellings(*match_key(Scope::water, "temperature_c").key))}};
        Json own{{"required", Json::list({"water"})}};
        own["properties"]["water"] = temperature;
        Json looped{{"required", Json::list({"loop"})}};
        Json::Items tells = one_of({"from"});
        for (const std::string& key : spellings(*match_key(Scope::inflow, "temperature_c").key)) {
            tells.push_back(Json{{"required", Json::list({key})}});
        }
        const Json told{{"anyOf", tells}};
        Json below{{"required", Json::list({"inflow"})}};
        below["properties"]["inflow"] = {
            {"anyOf", Json::list({Json{{"type", "object"}, {"anyOf", tells}},
                                  Json{{"type", "array"}, {"items", told}}})}};
        all.push_back(Json{{"anyOf", Json::list({looped, own, below})}});
    }
    if (scope != Scope::inflow) return;
    // Water that flows in brings oxygen or takes it; that of a tank above is worked out.
    Json::Items any = one_of({"from", "oxygen_mg_l", "oxygen_percent"});
    std::vector<std::string> told;
    for (const Key& key : keys_of(scope)) {
        if (is_of_any_inflow(key.name)) continue;
        const std::vector<std::string> spelled = spellings(key);
        told.insert(told.end(), spelled.begin(), spelled.end());
    }
    all.push_back(Json{{"not", {{"required", Json::list({"from"})}, {"anyOf", one_of(told)}}}});
    for (const std::string& flow : spellings(*match_key(scope, "flow_l_min").key)) {
        any.push_back(
            Json{{"required", Json::list({flow})}, {"properties", {{flow, {{"const", 0}}}}}});
    }
    all.push_back(Json{{"anyOf", any}});
    all.push_back(
        Json{{"dependentRequired",
              {{"ph", Json::list({"alkalinity_mg_l"})}, {"alkalinity_mg_l", Json::list({"ph"})}}}});
}

// An object with the keys of a scope. A key with several units is one of its spellings at most.
Json object_schema(Scope scope) {
    Json properties = Json();
    Json::Items required;
    Json::Items all;
    for (const Key& key : keys_of(scope)) {
        properties[std::string(key.name)] = value_schema(scope, key, nullptr);
        const std::vector<std::string> spelled = spellings(key);
        for (std::size_t i = 1; i < spelled.size(); ++i) {
            properties[spelled[i]] = value_schema(scope, key, &key.quantity->others[i - 1]);
        }
        if (spelled.size() == 1) {
            if (key.required) required.emplace_back(key.name);
        } else if (key.required) {
            all.push_back(Json{{"oneOf", one_of(spelled)}});
        } else {
            Json none{{"not", {{"anyOf", one_of(spelled)}}}};
            Json::Items choices = one_of(spelled);
            choices.push_back(none);
            all.push_back(Json{{"oneOf", choices}});
        }
    }
    add_pairs(scope, all);
    Json out{{"title", name_of(scope)},
             {"type", "object"},
             {"properties", properties},
             {"additionalProperties", false}};
    if (!required.empty()) out["required"] = required;
    if (!all.empty()) out["allOf"] = all;
    return out;
}

Json kinds_schema(std::initializer_list<std::pair<const char*, Scope>> scopes) {
    Json::Items kinds;
    for (const auto& [kind, scope] : scopes) {
        Json one = object_schema(scope);
        one["properties"]["kind"] = {{"const", kind}};
        kinds.push_back(one);
    }
    return {{"oneOf", kinds}};
}

// ---- of what is printed

std::string_view about(std::string_view object, std::string_view key) {
    const std::string qualified = fmt::format("{}.{}", object, key);
    for (const std::string_view name : {std::string_view(qualified), key}) {
        for (const auto& [known, words] : kAbout) {
            if (known == name) return words;
        }
    }
    throw std::logic_error(fmt::format("about.hpp says nothing of {}", qualified));
}

// Hears what a report contains, and says of each key what it may hold. Objects of a list stand once
// by the name of their shape.
class ReportShape final : public Fields {
public:
    std::map<std::string, Json> shapes;

    ReportShape() { open(Level::object, {}); }
    // The object whose keys were heard.
    Json take() { return close(); }

    void number(std::string_view key, std::optional<double>) override { or_null(key, "number"); }
    void whole(std::string_view key, std::optional<std::size_t> value) override {
        value ? put(key, {{"type", "integer"}}) : or_null(key, "integer");
    }
    void text(std::string_view key, std::string_view) override { put(key, {{"type", "string"}}); }
    void text_or_null(std::string_view key, std::string_view) override { or_null(key, "string"); }
    void truth(std::string_view key, bool) override { put(key, {{"type", "boolean"}}); }
    void null(std::string_view key) override { put(key, {{"type", "null"}}); }
    void word(std::string_view key, std::string_view,
              std::span<const std::string_view> choices) override {
        put(key, {{"enum", Json::Items(choices.begin(), choices.end())}});
    }
    void fixed(std::string_view key, double value) override { put(key, {{"const", value}}); }
    void bounds(std::string_view key, std::optional<double>, std::optional<double>) override {
        const Json one{{"type", Json::list({"number", "null"})}};
        const Json two{
            {"type", "array"}, {"items", {{"type", "number"}}}, {"minItems", 2}, {"maxItems", 2}};
        put(key, {{"oneOf", Json::list({one, two})}});
    }
    void begin_object(std::string_view key) override { open(Level::object, key); }
    void end_object() override { end(); }
    void begin_list(std::string_view key) override { open(Level::list, key); }
    void end_list() override { end(); }
    bool has(bool) override { return may_lack_ = true; }
    bool object_or_null(std::string_view key, bool) override {
        open(Level::nullable, key);
        return true;
    }
    void begin_objects(std::string_view key, std::string_view shape,
                       std::size_t at_least) override {
        open(Level::list, key);
        levels_.back().shape = shape;
        levels_.back().at_least = at_least;
    }
    void end_objects() override { end(); }

private:
    struct Level {
        enum Kind { object, nullable, list };
        Kind kind;
        std::string key;
        bool may_lack;
        std::string shape = {};
        std::size_t at_least = 0;
        Json keys = Json();
        Json::Items required = {};
        Json item = {};
    };

    void open(Level::Kind kind, std::string_view key) {
        levels_.push_back({kind, std::string(key), may_lack_});
        may_lack_ = false;
    }
    void end() {
        const std::string key = levels_.back().key;
        may_lack_ = levels_.back().may_lack;
        put(key, close());
    }
    Json close() {
        Level level = std::move(levels_.back());
        levels_.pop_back();
        if (level.kind == Level::list) {
            if (!level.shape.empty()) {
                shapes.insert_or_assign(level.shape, std::move(level.item));
                level.item = reference(level.shape);
            }
            Json list{{"type", "array"}, {"items", level.item}};
            if (level.at_least > 0) list["minItems"] = level.at_least;
            return list;
        }
        Json one{{"type", "object"}, {"properties", level.keys}, {"required", level.required}};
        if (level.kind == Level::object) return one;
        return {{"oneOf", Json::list({{{"type", "null"}}, one})}};
    }
    void put(std::string_view key, Json holds) {
        Level& level = levels_.back();
        if (level.kind == Level::list) {
            level.item = std::move(holds);
        } else {
            if (!may_lack_) level.required.emplace_back(key);
            const bool of_list = level.key.empty() && levels_.size() > 1;
            holds["description"] =
                about(of_list ? levels_[levels_.size() - 2].shape : level.key, key);
            level.keys[std::string(key)] = std::move(holds);
        }
        may_lack_ = false;
    }
    void or_null(std::string_view key, std::string_view type) {
        put(key, {{"type", Json::list({type, "null"})}});
    }

    bool may_lack_ = false;  // the next key
    std::vector<Level> levels_;
};

}  // namespace

std::string report_schema() {
    ReportShape shape;
    shape.fixed("format", 1);
    list_head({}, Status::pass, shape);
    shape.objects("reports", "report", std::vector<Report>{},
                  [&](const Report& report) { list_contents(report, {}, shape); });
    Json schema{{"$schema", "https://json-schema.org/draft/2020-12/schema"},
                {"$id", "urn:coldtank:report:1"},
                {"title", "coldtank budget, as JSON (jsonl: one #/$defs/report a line)"}};
    const Json top = shape.take();
    for (const auto& [key, value] : top.members()) schema[key] = value;
    for (const auto& [name, definition] : shape.shapes) schema["$defs"][name] = definition;
    return page_of(schema);
}

std::string description_schema() {
    Json schema{{"$schema", "https://json-schema.org/draft/2020-12/schema"},
                {"$id", "urn:coldtank:description:1"}};
    const Json top = object_schema(Scope::description);
    for (const auto& [key, value] : top.members()) schema[key] = value;
    schema["title"] = "coldtank description";
    for (const auto& [name, scope] :
         {std::pair{"site", Scope::site}, std::pair{"tank", Scope::tank},
          std::pair{"water", Scope::water}, std::pair{"inflow", Scope::inflow},
          std::pair{"fish", Scope::fish}, std::pair{"feed", Scope::feed},
          std::pair{"limits", Scope::limits}, std::pair{"loop", Scope::loop},
          std::pair{"loop_water", Scope::loop_water}, std::pair{"loop_flow", Scope::loop_flow},
          std::pair{"makeup", Scope::makeup}, std::pair{"biofilter", Scope::biofilter},
          std::pair{"plants", Scope::plants}, std::pair{"coefficients", Scope::coefficients},
          std::pair{"accuracy", Scope::accuracy}, std::pair{"trip", Scope::trip},
          std::pair{"water_change", Scope::water_change}, std::pair{"season", Scope::season},
          std::pair{"thinning", Scope::thinning}}) {
        schema["$defs"][name] = object_schema(scope);
    }
    schema["$defs"]["aerator"] = kinds_schema({{"diffuser", Scope::diffuser},
                                               {"rated", Scope::rated},
                                               {"oxygen", Scope::oxygen},
                                               {"cascade", Scope::cascade}});
    schema["$defs"]["backup"] = kinds_schema({{"diffuser", Scope::backup_diffuser},
                                              {"rated", Scope::backup_rated},
                                              {"oxygen", Scope::backup_oxygen}});
    return page_of(schema);
}

}  // namespace coldtank::io
