"""An exporter in Python: the circuit as a graph in the DOT language, devices as boxes, a line for each terminal."""

import json

import stopspan
from stopspan import plugins


def quoted(text: str) -> str:
    return json.dumps(text, ensure_ascii=False)


class DotExporter:
    name = "dot"
    suffixes = ("dot", "gv")

    def write(self, drawing: stopspan.Drawing, out: plugins.ByteStream) -> None:
        lines = [f"graph {quoted(drawing.name)} {{"]
        for device in drawing.netlist:
            node = quoted(f"device {device.designation}")
            lines.append(f"  {node} [shape=box, label={quoted(device.designation)}, tooltip={quoted(device.kind)}];")
            for terminal, net in device.terminals.items():
                lines.append(f"  {node} -- {quoted(f'net {net}')} [taillabel={quoted(terminal)}];")
        for net in sorted({net for device in drawing.netlist for net in device.terminals.values()}):
            lines.append(f"  {quoted(f'net {net}')} [shape=plain, label={quoted(net)}];")
        out.write("\n".join([*lines, "}", ""]).encode())
