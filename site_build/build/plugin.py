"""The MkDocs plugin: events only. Reading and computing are in gather.py, HTML in pages.py, the site in assembly.py.

MkDocs renders the frame of every page that must be written; unchanged pages of the published site are linked and never
reach MkDocs. The author's words are rendered when the page is made (author_html.py).
"""

from __future__ import annotations

import posixpath
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace

from jinja2 import pass_context
from jinja2.runtime import Context
from mkdocs.config import config_options as options
from mkdocs.config.base import Config
from mkdocs.exceptions import PluginError
from mkdocs.plugins import BasePlugin, get_plugin_logger
from mkdocs.structure.files import File, Files, InclusionLevel
from mkdocs.structure.pages import Page
from mkdocs.utils import get_build_datetime
from msgspec.structs import replace

from handbook.base.errors import HandbookError
from handbook.base.records import free_texts
from handbook.folder.source import read_source
from site_build.base.languages import mark_languages
from site_build.base.local_forms import bind_degrees, is_right_to_left
from site_build.base.progress import Progress
from site_build.base.said_words import install_words, own, said, use_wording, wording_now
from site_build.base.store import open_store
from site_build.build.assembly import Assembly
from site_build.build.cache import Cache
from site_build.build.finish import finish_site
from site_build.build.gather import gather
from site_build.build.made_page import MadePage, PageFiles
from site_build.build.mkdocs_settings import setting_faults
from site_build.build.page_keys import generated_keys, page_keys
from site_build.build.prepared import Prepared, overview
from site_build.html.pages import method_html
from site_build.html.render import CompiledTemplates
from site_build.outputs.lost_page import lost_page
from site_build.outputs.sharing import is_published, plain_meta, source_address
from site_build.reading.book import GENERATED, LAYERS, page_paths, url_of
from site_build.reading.identity import mark_of
from site_build.reading.pictures import dress_pictures
from site_build.review.review_states import review_states

log = get_plugin_logger("handbook")
#: Generated pages that the contents page links to, so that the navigation remains one line.
LINKED_FROM_CONTENTS = ("side-by-side.md", "cautions.md", "in-progress.md")


class _RenderedPage(Page):
    """A page whose words were rendered when it was made: MkDocs has no Markdown of it to convert."""

    def render(self, config, files) -> None:
        """Leave the content to ``on_page_context``."""
        self.content = ""


def _shared(listed: set[str]) -> Callable[[Context, str], str]:
    """A function for the theme: a part of the frame that is the same on all pages of a folder, but for those ``listed``
    in it.
    """
    made: dict[tuple[str, str], str] = {}

    @pass_context
    def shared(context: Context, part: str) -> str:
        url = context["page"].url if context["page"] else ""
        key = part, url if url in listed else posixpath.dirname(url) + "/"
        if key not in made:
            made[key] = context.environment.get_template(part).render(context.get_all())
        return made[key]

    return shared


class HandbookOptions(Config):
    """Options in mkdocs.yml."""

    progress = options.Type(bool, default=True)
    history = options.Type(bool, default=False)


class HandbookPlugin(BasePlugin[HandbookOptions]):
    """Turns a folder of method pages into a handbook."""

    prepared: Prepared | None = None
    _open: tuple[str, PageFiles] | None = None
    _made: tuple[str, dict[str, str]] = ("", {})
    _house_words: set[str] | None = None

    def prepare(self, prepared: Prepared) -> None:
        """Use prepared results; without them, the plugin reads and computes everything itself."""
        self.prepared = prepared

    def on_config(self, config):
        """Stop MkDocs from walking the methods.

        MkDocs follows links in hidden folders too, also in circles; everything that it needs has been read.
        """
        if self.prepared is not None:
            config.docs_dir = str(Path(config.site_dir) / "no-methods-here")
        return config

    def on_files(self, files, config):
        """Give MkDocs only the pages that must be written."""
        if self.prepared is None:
            self.prepared = self._prepare(config)
            faults = list(setting_faults(config, self.prepared.gathered.house.kitchen))
            if faults:
                raise PluginError("\n".join(faults))
        self.gathered, self.assembly = self.prepared.gathered, self.prepared.assembly
        use_wording(self.gathered.kitchen.wording)
        self.keys = page_keys(self.gathered, self.prepared.standing, self.prepared.is_preview)
        for line in self.gathered.warnings:
            log.warning(line)
        self._told = Counter()
        self.written = self._take_over()
        self.remade = self._take_generated()
        return self._files(files, config)

    def on_page_markdown(self, markdown, page, config, files):
        """Title and summary of the page, and whether it has a method's tools."""
        path, layer = self._page_and_layer(page.file.src_uri)
        found = self.gathered.pages.get(path)
        if found is not None:
            page.title = f"{found.title}: {said(LAYERS[layer]).casefold()}" if layer else found.title
            page.meta = {"summary": found.found.summary, "is_method": found.method is not None}
        return markdown

    def on_page_content(self, html, page, config, files):
        """Make a generated page."""
        self._tell("pages rendered")
        path = page.file.src_uri
        if path in self.remade:
            page.title = self.gathered.generated[path]
            return self._left.pop(path)
        return ""

    def on_page_context(self, context, page, config, nav):
        """Insert words and computed parts page by page, because all of them at once would fill the memory."""
        path, layer = self._page_and_layer(page.file.src_uri)
        found = self.gathered.pages.get(path)
        if found is not None:
            page.content = self._content(path, layer, found)
        return context

    def on_post_page(self, output, page, config):
        """Free the memory of a written page."""
        page.content = page.markdown = ""
        self._tell("pages written")
        return bind_degrees(self._with_languages(output, page.file.src_uri))

    def on_post_template(self, output, template_name, config):
        """The page for a wrong address, which belongs to no page of the handbook."""
        return bind_degrees(self._with_languages(output, "")) if template_name.endswith(".html") else output

    def on_env(self, env, config, files):
        """The variables of the theme's frame on every page, including the "not found" page."""
        house = self.gathered.house
        env.bytecode_cache = CompiledTemplates()
        env.auto_reload = False
        env.globals["shared"] = _shared({url_of(path) for path in GENERATED})
        install_words(env)
        env.globals["handbook"] = SimpleNamespace(
            is_preview=self.prepared.is_preview,
            head_meta=self._head_meta,
            source_address=lambda path: source_address(self._page_and_layer(path)[0], house),
            kitchen_name=house.kitchen,
            mark=mark_of(self.gathered.source.folder, house),
            footer=house.footer,
            language=house.language,
            is_right_to_left=is_right_to_left(),
            degrees=house.degrees,
            navigation=[(title, url_of(path)) for path, title in GENERATED.items() if path not in LINKED_FROM_CONTENTS],
            version_mark="",
            lost=lost_page(),
            address=house.address.rstrip("/") if is_published(house) else "",
        )
        return env

    def on_post_build(self, *, config):
        """Write search, feeds and the offline copy after all pages."""
        finish_site(self.prepared, self.keys, self.written, self.remade, get_build_datetime().date())

    def _prepare(self, config) -> Prepared:
        try:
            with Progress(self.config.progress) as progress:
                source = read_source(Path(config.docs_dir), frozenset(GENERATED))
                gathered = gather(source, Cache(), progress=progress)
                kept = open_store(source.folder).of_handbook(source.folder) if self.config.history else None
                standing = review_states(
                    gathered.marks, gathered.signatures, source, self.config.history, progress, kept
                )
        except HandbookError as error:
            raise PluginError(str(error)) from None
        return Prepared(
            gathered=gathered, standing=standing, assembly=Assembly(Path(config.site_dir), None, gathered.cache)
        )

    def _take_over(self) -> list[str]:
        """Take unchanged files from the published site. Returns the paths of the pages that must be written."""
        assembly = self.assembly
        assembly.look_up(each.whole for each in self.keys.values())
        left = [each for each in self.keys.values() if not each.take_over(assembly)]
        assembly.look_up(each.bare for each in left)
        assembly.look_up(filter(None, [assembly.noted(each.bare) for each in left]))
        return [each.path for each in left if not each.reprice(assembly)]

    def _take_generated(self) -> dict[str, str]:
        """Take unchanged generated pages from the published site. Returns the keys of those that must be written, by path."""
        gathered = self.gathered
        made = {each.path: each.html for each in (*gathered.days, *gathered.further)}
        contents = {path: made[path] if path in made else overview(path, gathered) for path in gathered.generated}
        words = () if wording_now().is_english else self._own_words()
        keys = generated_keys(gathered, contents, self.prepared.is_preview, words)
        self.assembly.look_up(keys.values())
        remade = {path: key for path, key in keys.items() if not self.assembly.take_over(key)}
        self._left = {path: contents[path] for path in remade}
        return remade

    def _files(self, files: Files, config) -> Files:
        """Theme files, pages to be written, published files."""
        wanted = Files([file for file in files if file.abs_src_path and not self._is_ours(file.abs_src_path)])
        source = self.gathered.source
        for path in self.written:
            for each in page_paths(path, self.gathered.pages[path].method is not None):
                file = File.generated(config, each, content="", inclusion=InclusionLevel.NOT_IN_NAV)
                wanted.append(file)
                _RenderedPage("", file, config)  # which names itself the page of ``file``
        for path in source.published:
            place = str(source.folder / path)
            wanted.append(File.generated(config, path, abs_src_path=place, inclusion=InclusionLevel.EXCLUDED))
        for path in self.remade:
            wanted.append(File.generated(config, path, content=f"# {self.gathered.generated[path]}\n"))
        return wanted

    def _page_and_layer(self, path: str) -> tuple[str, str]:
        """The page of the methods folder for a page of the site, and the key of the further page that it is, or ""."""
        if path not in self.gathered.pages:
            for layer in LAYERS:
                page = path.removesuffix(f".{layer}.md") + ".md"
                if path.endswith(f".{layer}.md") and page in self.gathered.pages:
                    return page, layer
        return path, ""

    def _content(self, path: str, layer: str, found: MadePage) -> str:
        """The content of one page of the site. Those of a method are made together and written one after the other."""
        if self._made[0] != path:
            self._made = path, self._contents(path, found)
        return self._made[1][layer]

    def _contents(self, path: str, found: MadePage) -> dict[str, str]:
        """The contents of a page of the folder: its own under "", its further pages' under their keys."""
        files = self._files_of(path)
        words = files.words
        if any(link.is_picture for link in found.links):
            folder = self.gathered.source.folder
            words = [replace(each, html=dress_pictures(each.html, path, folder)) for each in words]
        if files.parts is None:
            return {"": "".join(own(each.html) for each in words)}
        sign, rows = self.prepared.standing.of(path)
        made = method_html(files.parts, words, path, found.method.mark, self.keys[path].cost, sign, rows)
        return {"": made.make} | {layer: getattr(made, layer) for layer in LAYERS}

    def _with_languages(self, html: str, path: str) -> str:
        """The page with marked languages; unchanged on an English site."""
        if wording_now().is_english:
            return html
        page, _ = self._page_and_layer(path)
        here = self._files_of(page).own if page in self.gathered.pages else []
        return mark_languages(html, [*self._own_words(), *here])

    def _own_words(self) -> set[str]:
        """Short texts of the house and titles, which are in the house's language."""
        if self._house_words is None:
            titles = {page.title for page in self.gathered.pages.values()} | {day.title for day in self.gathered.days}
            self._house_words = free_texts(self.gathered.house) | titles
        return self._house_words

    def _tell(self, what: str) -> None:
        self._told[what] += 1
        self.prepared.progress(what, self._told[what], len(self.written) + len(self.remade))

    def _is_ours(self, place: str) -> bool:
        return Path(place).is_relative_to(self.gathered.source.folder)

    def _files_of(self, path: str) -> PageFiles:
        if self._open is None or self._open[0] != path:
            self._open = path, self.gathered.files(path)
        return self._open[1]

    def _head_meta(self, path: str) -> str:
        page, layer = self._page_and_layer(path)
        found = self.gathered.pages.get(page)
        if found is not None and found.method and not layer:
            return self._files_of(path).meta
        house = self.gathered.house
        title = (
            found.title if found else house.kitchen if path == "index.md" else self.gathered.generated.get(path, path)
        )
        return plain_meta(url_of(path), title, house)
