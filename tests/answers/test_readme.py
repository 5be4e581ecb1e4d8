"""What the README asks of the demo in a notebook is answered as it stands there."""

import re
import runpy
import shutil
from pathlib import Path

README = Path(__file__).parents[2] / "README.md"


def test_the_notebook_of_the_readme_says_who_what_and_from_what(
    demo_store, demo_store_file, tmp_path, monkeypatch, capsys
):
    (block,) = re.findall(r"```python\n(.*?)```", README.read_text(encoding="utf-8"), re.DOTALL)
    shutil.copy(demo_store_file, tmp_path / "demo.duckdb")
    notebook = tmp_path / "notebook.py"
    notebook.write_text(block, encoding="utf-8")
    monkeypatch.chdir(tmp_path)

    runpy.run_path(str(notebook))

    suppliers, verdict, recipe = capsys.readouterr().out.splitlines()
    assert "North Fen Spices drifts" in suppliers
    assert verdict == demo_store.verdict("R26-0140").sentence
    assert "42\u202f000 SHU ± 12 % can be made today from" in recipe
    assert len([line for line in block.splitlines() if line.strip()]) <= 12
