"""How things show themselves in a notebook."""

from collections.abc import Iterable
from html import escape

from . import _core, report

# Above this many machines the plan is left out: drawing means checking first, and a notebook should not wait.
MACHINES_DRAWN_AT_ONCE = 50


def _cells(tag: str, texts: Iterable[str]) -> str:
    return "".join(f"<{tag}>{escape(text)}</{tag}>" for text in texts)


def html_table(header: Iterable[str], rows: Iterable[Iterable[str]]) -> str:
    body = "".join(f"<tr>{_cells('td', row)}</tr>" for row in rows)
    return f"<table><thead><tr>{_cells('th', header)}</tr></thead><tbody>{body}</tbody></table>"


def verdict_html(verdict: _core.Verdict) -> str:
    """Result, matrix and what does not hold, with the cautions."""
    header, rows = report.matrix_grid(verdict)
    findings = [
        [f.rule, report.status_text(f), ", ".join(f.subjects), f.text, "; ".join(f.witness.acts), f.repair]
        for f in verdict.findings
    ]
    result = ". ".join(filter(None, [report.summary(verdict), report.coverage(verdict)]))
    parts = [f"<p><b>{escape(verdict.installation)}</b>: {escape(result)}.</p>"]
    if rows:
        parts.append(html_table(header, rows))
    if findings:
        parts.append(html_table(["rule", "status", "about", "finding", "try it", "repair"], findings))
    parts.append(f"<p><small>{escape(' '.join(report.CAUTIONS))}</small></p>")
    return "<div>" + "".join(parts) + "</div>"


def installation_html(installation: _core.Installation) -> str:
    """What it consists of and, unless it is large, its first sheet."""
    kinds = ("supplies", "boards", "areas", "machines", "loads", "stops", "zones")
    rows = [[kind, str(len(names)), ", ".join(names)] for kind in kinds if (names := getattr(installation, kind))]
    parts = [f"<p><b>{escape(installation.name)}</b></p>", html_table(["what", "number", "names"], rows)]
    if installation.areas and len(installation.machines) <= MACHINES_DRAWN_AT_ONCE:
        try:
            drawing = installation.drawing()
            parts.append(drawing_svg(drawing[0]) if len(drawing) else "")
        except _core.ModelError as error:  # half-described is a usual state while somebody works in a notebook
            parts.append(f"<p>Not drawn: {escape(str(error))}</p>")
    return "<div>" + "".join(parts) + "</div>"


def drawing_svg(drawing: _core.Drawing) -> str:
    svg = _core.render(drawing, "svg").decode("utf-8")
    return svg[svg.index("<svg") :]  # inside a page an XML declaration has no place
