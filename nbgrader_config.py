"""Settings for nbgrader, so that its own commands and its form grader work on this folder as they are.

``nbgrader generate_assignment lab03`` makes exercises/ from solutions/. nbgrader keeps its records in gradebook.db
in this folder; that file holds solutions and marks, and git ignores it.
"""

from pathlib import Path

# What a learner's work leaves beside the notebook. Never taken from solutions/ at marking: it is the learner's own.
LEARNERS_FILES = ["work-order.json", "practice-order.json", "bench-log.jsonl", "service-report.json"]

c = get_config()  # noqa: F821  # traitlets puts it here

c.CourseDirectory.course_id = "tankside"
c.CourseDirectory.source_directory = "solutions"
c.CourseDirectory.release_directory = "exercises"
# Whatever isn't ignored goes to the learners. The text twins (*.md) hold the answers.
c.CourseDirectory.ignore = [".ipynb_checkpoints", "*.pyc", "__pycache__", "*.md", ".*.part"]

c.ClearSolutions.code_stub = {"python": "# Write your answers after the = signs. Then press Shift+Enter."}
c.ClearSolutions.text_stub = (
    "Click this line and press Enter. Write your answer in its place, then press Shift+Enter."
)

labs = [folder.name for folder in Path(c.CourseDirectory.source_directory).glob("*") if folder.is_dir()]
c.Autograde.exclude_overwriting = dict.fromkeys(labs, LEARNERS_FILES)
# A kernel that has done its work has nothing to say goodbye for; waiting costs up to three seconds each.
c.Execute.shutdown_kernel = "immediate"
