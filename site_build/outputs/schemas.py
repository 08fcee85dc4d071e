"""JSON Schemas of the files that people write or programs read, derived from the forms and records that read them."""

from __future__ import annotations

import json
from pathlib import Path

from handbook.batches.batch_record import BATCH_FORM
from handbook.days.read_day import wish_form
from handbook.page.front_matter import front_matter_form
from handbook.page.house import house_form
from handbook.page.method import block_forms
from handbook.page.vocabulary import Vocabulary
from handbook.safety.limits import rules_and_limits
from site_build.record.figures import FILE, figures_schema
from site_build.review.report_json import COMPARISON_SCHEMA
from site_build.review.signed import SIGNED_FILE, SIGNED_FORM

DRAFT = "https://json-schema.org/draft/2020-12/schema"


def schemas(words: Vocabulary) -> dict[str, dict]:
    """File name -> schema. Names of foods, ingredients and containers are those of this handbook."""
    found = {"front-matter": ("Front matter of a method page", front_matter_form(words).schema())}
    for block, form in block_forms(words).items():
        found[f"block-{block}"] = (f"The {block} block of a method page", form.schema())
    found["day"] = ("The wish for a day plan, days/NAME.yml", wish_form((), ()).schema())
    found["batch"] = ("A batch, batches/YEAR/LOT.yml", BATCH_FORM.schema())
    found["house"] = ("The house file, house.yml", house_form(rules_and_limits()).schema())
    found["signed"] = (f"Reviews of methods, {SIGNED_FILE}", SIGNED_FORM.schema())
    found["figures"] = (f"Figures of a build, {FILE}", figures_schema())
    tables = {
        f"{name}.schema.json": {"$schema": DRAFT, "title": title, **schema} for name, (title, schema) in found.items()
    }
    return tables | {"comparison.schema.json": COMPARISON_SCHEMA}


def schema_texts(words: Vocabulary) -> dict[str, str]:
    """File name -> text of every schema."""
    return {name: json.dumps(each, ensure_ascii=False, indent=1) + "\n" for name, each in schemas(words).items()}


def write_schemas(texts: dict[str, str], folder: Path) -> None:
    """Write every one of ``schema_texts`` into ``folder`` of a site in the making."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, text in texts.items():
        (folder / name).write_text(text, "utf-8", newline="\n")
