"""The OpenAPI document as rows for a page: what each value is, in words."""


def operations(document):
    """Each operation in order, with its values and answers as rows."""
    return [
        {
            "id": said["operationId"],
            "method": method.upper(),
            "path": path,
            "summary": said["summary"],
            "about": said["description"].split("\n\n"),
            "parameters": [_parameter(each) for each in said.get("parameters", ())],
            "body": _named(said["requestBody"]["content"]["application/json"]["schema"])
            if "requestBody" in said
            else "",
            "answers": [_answer(status, answer) for status, answer in said["responses"].items()],
        }
        for path, methods in document["paths"].items()
        for method, said in methods.items()
    ]


def shapes(document):
    """Each shape that is sent or answered, by name, with a row for each of its values."""
    return [
        {"name": name, "about": schema.get("description", ""), "rows": rows(schema)}
        for name, schema in document["components"]["schemas"].items()
        if schema.get("properties")
    ]


def rows(schema):
    needed = schema.get("required", ())
    return [
        {"name": name, "kind": kind(said), "shape": _named(said), "needed": name in needed, "means": _means(said)}
        for name, said in schema["properties"].items()
    ]


def kind(schema):
    """What a value is, in words."""
    if "$ref" in schema:
        return ""
    if "const" in schema:
        return f"{schema['const']}"
    if "enum" in schema:
        return ", ".join(map(str, schema["enum"]))
    for each in ("anyOf", "oneOf"):
        if each in schema:
            return " or ".join(filter(None, (kind(part) for part in schema[each])))
    if schema.get("type") == "array":
        return " ".join(filter(None, ("list of", kind(schema["items"]), _limits(schema, "Items"))))
    words = {"integer": "whole number", "number": "number", "boolean": "true or false", "object": "object"}
    if schema.get("type") == "string":
        text = {"date": "day", "date-time": "moment", "uri-reference": "address"}.get(schema.get("format"), "text")
        return " ".join(filter(None, (text, _limits(schema, "Length"))))
    return " ".join(filter(None, (words.get(schema.get("type"), schema.get("type") or "any value"), _range(schema))))


def _range(schema):
    least, most = schema.get("minimum"), schema.get("maximum")
    limits = f"{least} to {most}" if least is not None and most is not None else ""
    return f"{limits}, in tenths" if "multipleOf" in schema else limits


def _limits(schema, what):
    least, most = schema.get(f"min{what}"), schema.get(f"max{what}")
    if most is None:
        return ""
    return f"({least} to {most})" if least else f"(up to {most})"


def _named(schema):
    """The names of the shapes that a value has, in the order in which they stand."""
    if "$ref" in schema:
        return [schema["$ref"].rsplit("/", 1)[-1]]
    parts = [*schema.get("anyOf", ()), *schema.get("oneOf", ())] + ([schema["items"]] if "items" in schema else [])
    return [name for part in parts for name in _named(part)]


def _means(schema):
    default = schema.get("default")
    said = schema.get("description", "")
    return f"{said} Left out: {_plain(default)}.".strip() if default not in (None, "", []) else said


def _plain(value):
    return {True: "true", False: "false"}.get(value, value) if isinstance(value, bool) else value


def _parameter(said):
    schema = said["schema"]
    return {
        "name": said["name"],
        "where": {"path": "in the address", "query": "after the ?", "header": "header"}[said["in"]],
        "kind": kind(schema),
        "needed": said["required"],
        "means": said.get("description") or _means(schema),
    }


def _answer(status, said):
    schema = next(iter(said["content"].values()))["schema"]
    return {
        "status": status,
        "means": said["description"],
        "shape": _named(schema),
        "headers": list(said.get("headers", ())),
    }
