"""Owns the running of a notebook's cells in this process: what each would show, in a tenth of a
kernel's time."""

import ast

import nbformat

from analysis.places import NOTEBOOKS


def shown(name: str, **parameters: object) -> list[str]:
    """Run a notebook's cells one after the other, as a kernel does; what stands last in each.

    Parameters
    ----------
    name : str
        Of a notebook.
    **parameters
        Assigned after the cell of parameters.
    """
    notebook = nbformat.read(NOTEBOOKS / f"{name}.ipynb", as_version=4)
    names: dict[str, object] = {}
    html = []
    for cell in notebook.cells:
        if cell.cell_type != "code":
            continue
        body = ast.parse(cell.source).body
        last = body.pop() if isinstance(body[-1], ast.Expr) else None
        exec(compile(ast.Module(body, []), name, "exec"), names)
        if "parameters" in cell.metadata.get("tags", []):
            assert set(parameters) <= set(names)
            names.update(parameters)
        if last is not None:
            found = eval(compile(ast.Expression(last.value), name, "eval"), names)
            if hasattr(found, "_repr_html_"):
                html.append(found._repr_html_())
    return html
