"""What an editor makes of a YAML file before it holds it against a schema: YAML 1.2's types, or the
older 1.1's.
"""

import datetime
import re

import yaml

FAILED = object()


def as_an_editor_reads(text: str, older: bool = False):
    """The data of a YAML text with its scalars typed; FAILED where it is no YAML. Keys stay text,
    as they do in editors.
    """
    try:
        return _typed(yaml.compose(text, Loader=yaml.CSafeLoader), older)
    except yaml.YAMLError:
        return FAILED


def _typed(node, older: bool):
    if node is None:
        return None
    if isinstance(node, yaml.SequenceNode):
        return [_typed(n, older) for n in node.value]
    if isinstance(node, yaml.MappingNode):
        return {
            k.value if isinstance(k, yaml.ScalarNode) else str(_typed(k, older)): _typed(v, older)
            for k, v in node.value
        }
    return node.value if node.style else _scalar(node.value, older)


def _scalar(text: str, older: bool):
    if older:  # as PyYAML itself does; JSON has no dates
        try:
            v = yaml.load(text, Loader=yaml.CSafeLoader) if text else None
        except (yaml.YAMLError, ValueError):
            return text
        return (
            v.isoformat()
            if isinstance(v, datetime.date)
            else v
            if isinstance(v, (str, int, float, bool)) or v is None
            else text
        )
    if re.fullmatch(r"[-+]?\d+", text):
        return int(text)
    if re.fullmatch(r"[-+]?(\.\d+|\d+(\.\d*)?)([eE][-+]?\d+)?", text):
        return float(text)
    return {"true": True, "false": False, "null": None, "~": None, "": None}.get(text.lower(), text)
