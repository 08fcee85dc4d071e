"""The MkDocs plugin: events only. Reading and computing are in book.py, HTML in pages.py."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace

from mkdocs.config import config_options as options
from mkdocs.config.base import Config
from mkdocs.exceptions import PluginError
from mkdocs.plugins import BasePlugin
from mkdocs.structure.files import File
from mkdocs.utils import get_build_datetime

from handbook.errors import HandbookError
from site_build.book import GENERATED, HOUSE_FILE, Book, read_book
from site_build.clean import clean_html
from site_build.finish import finish_site
from site_build.overview import overview_html
from site_build.pages import method_html
from site_build.pictures import dress_pictures
from site_build.progress import Progress
from site_build.sharing import head_meta, source_address
from site_build.standing_review import review_standing
from site_build.tools import write_example_plans

#: Generated pages that the contents page leads to, so that the navigation stays one line.
LINKED_FROM_CONTENTS = ("side-by-side.md",)


class HandbookOptions(Config):
    """Options in mkdocs.yml."""

    progress = options.Type(bool, default=True)
    history = options.Type(bool, default=False)


class HandbookPlugin(BasePlugin[HandbookOptions]):
    """Turns a folder of method pages into a handbook."""

    book: Book
    is_preview = False

    def on_startup(self, *, command, dirty):
        """Live reload needs an inline script of MkDocs, which the page policy forbids everywhere else."""
        self.is_preview = command == "serve"

    def on_config(self, config):
        """Keep house data out of the site and tables free of inline style, which the page policy forbids."""
        config.mdx_configs.setdefault("tables", {})["use_align_attribute"] = True
        return config

    def on_files(self, files, config):
        """Read the whole folder before anything is written; add the pages that the generator makes."""
        progress = Progress(self.config.progress)
        try:
            self.folder = Path(config.docs_dir)
            self.book = read_book(self.folder, progress)
            self.standing = review_standing(self.book, self.folder, self.config.history)
        except HandbookError as error:
            raise PluginError(str(error)) from None
        finally:
            progress.end()
        for path in GENERATED:
            files.append(File.generated(config, path, content=f"# {GENERATED[path]}\n"))
        for file in list(files):
            if file.src_uri == HOUSE_FILE or file.src_uri.endswith((".yml", ".yaml", ".csv")):
                files.remove(file)
        return files

    def on_page_markdown(self, markdown, page, config, files):
        """Give MkDocs the author's words, with a marker where each calculation block stood."""
        found = self.book.pages.get(page.file.src_uri)
        if found is None:
            return markdown
        if found.report:
            page.title = found.report.method.sheet.title
        return found.text.body

    def on_page_content(self, html, page, config, files):
        """Clean the author's HTML, then put the computed parts in."""
        path = page.file.src_uri
        try:
            return self._content(html, page, path)
        except HandbookError as error:
            raise PluginError(f"{path}: {error}") from None

    def _content(self, html, page, path: str) -> str:
        if path in GENERATED:
            page.title = GENERATED[path]
            return overview_html(path, self.book)
        html = dress_pictures(clean_html(html), path, self.folder)
        found = self.book.pages.get(path)
        return method_html(found, html, self.book, self.standing) if found and found.report else html

    def on_env(self, env, config, files):
        """What the theme's frame shows on every page, the "not found" page included."""
        env.globals["handbook"] = SimpleNamespace(
            is_preview=self.is_preview,
            head_meta=lambda path: head_meta(path, self.book),
            source_address=lambda path: source_address(path, self.book.house),
            kitchen_name=self.book.house.kitchen,
            language=config.theme.locale.language,
            navigation=[
                (title, path.removesuffix(".md") + ".html")
                for path, title in GENERATED.items()
                if path not in LINKED_FROM_CONTENTS
            ],
            version_mark="",
        )
        return env

    def on_post_build(self, *, config):
        """Search, feeds and the copy to keep need every page written."""
        write_example_plans(self.book, Path(config.site_dir), get_build_datetime())
        finish_site(self.book, self.folder, Path(config.site_dir), self.is_preview)
