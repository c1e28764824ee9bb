"""A course of one lesson and one lab, small enough to read, for tests of the notebook builder."""

from __future__ import annotations

import shutil
from pathlib import Path

ROOT = Path(__file__).parents[2]

LESSON = """\
# Reading a plate

The plate tells volts and watts.

```python
1500 / 120
```

## Try it

Look at yours.
"""

LAB = """\
---
jupyter:
  jupytext:
    split_at_heading: true
---

# Call-out

No hot water.

```python nbgrader={"grade_id": "open", "locked": true}
lab = 1
```

## Figures

```python nbgrader={"grade_id": "answers-figures", "solution": true}
%%answers
current =
### BEGIN SOLUTION
current = 12.5 A
### END SOLUTION
```

<!-- #region nbgrader={"grade_id": "reflection", "grade": true, "solution": true, "points": 10} -->
### BEGIN SOLUTION
Because the element was open.
### END SOLUTION
<!-- #endregion -->

```python nbgrader={"grade_id": "evidence", "grade": true, "points": 25}
# Marked after you hand in.
### BEGIN HIDDEN TESTS
from tankside.notebook import mark_part
mark_part("evidence")
### END HIDDEN TESTS
```
"""


def write_course(root: Path, lab: str = LAB, lesson: str = LESSON) -> Path:
    """The small course in ``root``, with the project's own nbgrader settings."""
    (root / "course").mkdir(parents=True)
    (root / "solutions" / "lab03").mkdir(parents=True)
    (root / "course" / "01-plate.md").write_text(lesson, encoding="utf-8")
    (root / "solutions" / "lab03" / "lab03.md").write_text(lab, encoding="utf-8")
    shutil.copyfile(ROOT / "nbgrader_config.py", root / "nbgrader_config.py")
    return root
