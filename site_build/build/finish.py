"""The files that are made once all pages of a site are written."""

from __future__ import annotations

import os
from base64 import b64decode
from concurrent.futures import ThreadPoolExecutor
from datetime import date
from pathlib import Path

from handbook import __version__
from handbook.page.house import House
from site_build.base.fingerprint import key_of
from site_build.base.progress import Tell
from site_build.build.assembly import Assembly
from site_build.build.gather import Gathered
from site_build.build.made_page import MadeMethod, PageFiles, unpack
from site_build.build.page_keys import PageKeys
from site_build.build.prepared import Prepared
from site_build.html.side_by_side import write_side_by_side
from site_build.html.tools import dated, example_address, served
from site_build.outputs.bundles import join_assets
from site_build.outputs.lead_on import lead_on_pages
from site_build.outputs.offline import BUILD_LIST, MANIFEST, WORKER, lined, manifest, write_offline
from site_build.outputs.schemas import schema_texts, write_schemas
from site_build.outputs.script_rules import script_rules
from site_build.outputs.search import Indexed, indexed, write_search
from site_build.outputs.search_entries import generated_entry
from site_build.outputs.sharing import is_published, write_sharing
from site_build.outputs.word_list import script_words
from site_build.reading.book import page_paths, picture_path, url_of
from site_build.reading.house_style import house_style
from site_build.reading.identity import mark_of
from site_build.reading.pictures import write_picture
from site_build.record.figures import FILE, cost_lines, digest, record_parts
from site_build.record.method_figures import cost_figures
from site_build.record.stated_words import house_text


def finish_site(
    prepared: Prepared, keys: dict[str, PageKeys], written: list[str], remade: dict[str, str], day: date
) -> None:
    """Write everything beside the pages; last the offline copy and the build's list, which name every file.

    ``keys`` are the pages' keys, ``written`` the pages that were not linked, ``remade`` the keys of the generated ones
    among them. A preview has neither offline copy nor record of figures, because its pages change with every edit.
    """
    gathered, assembly = prepared.gathered, prepared.assembly
    site = assembly.site
    join_assets(site, script_words(gathered.kitchen.wording) + script_rules(), house_style(gathered.house))
    _write_beside(keys, written, gathered, assembly, day)
    for path, key in remade.items():
        assembly.note(key, [url_of(path)])
    for each in gathered.days:
        if each.calendar:
            assembly.write(example_address(url_of(each.path)), each.calendar.encode())
    for page in gathered.methods:
        for url, text in lead_on_pages(page.path, page.title, page.method.was):
            assembly.write(url, text.encode())
    _write_published(gathered, assembly, prepared.progress)
    write_search([*(page.found for page in _in_order(gathered)), *_generated(gathered, assembly)], site)
    write_side_by_side((page.method.compared for page in gathered.methods), site)
    addresses = [(url_of(path), "") for path in gathered.generated]
    addresses += [
        (url_of(path), page.method.card.reviewed if page.method else "")
        for page in gathered.pages.values()
        for path in page_paths(page.path, page.method is not None)
    ]
    write_sharing([page.method.card for page in gathered.methods], addresses, gathered.house, site)
    if not prepared.is_preview:
        _write_record(gathered, site)
    texts = gathered.reads.made(key_of("schemas"), lambda kitchen: schema_texts(kitchen.words))
    write_schemas(texts, site / "schemas")
    (site / MANIFEST).write_text(_manifest(gathered), "utf-8")
    hashes = assembly.all_hashes()
    if not prepared.is_preview:
        write_offline(hashes, site)
        hashes[WORKER] = assembly.hash_of(WORKER)
    listed = lined(dict(sorted(hashes.items())))
    (site / BUILD_LIST).write_text(f'{{\n"format": 1,\n"files": {listed}\n}}\n', "utf-8")


def _write_beside(
    keys: dict[str, PageKeys], written: list[str], gathered: Gathered, assembly: Assembly, day: date
) -> None:
    """The files beside each page: a method's picture, and its calendar for the first Saturday that is still possible."""
    calendars = {
        page.path: key_of("calendar", gathered.keys[page.path], str(served(page.method.longest, day)))
        for page in gathered.methods
    }
    assembly.look_up(calendars.values())
    rendered = set(written)
    due = {path for path, key in calendars.items() if not assembly.take_over(key)}
    for path in dict.fromkeys((*written, *due)):
        method = gathered.pages[path].method
        files = gathered.files(path) if method else None  # loaded once for both
        if path in due:
            assembly.write(example_address(url_of(path)), dated(files.calendar, method.longest, day).encode())
            assembly.note(calendars[path], [example_address(url_of(path))])
        if path in rendered:
            paths = [url_of(each) for each in page_paths(path, method is not None)]
            keys[path].note(assembly, paths + (_write_pictures(path, files, gathered.house, assembly) if files else []))


def _write_pictures(path: str, files: PageFiles, house: House, assembly: Assembly) -> list[str]:
    """The picture of a method's times for other sites. Returns the paths."""
    paths = [picture_path(path, "svg")]
    assembly.write(paths[0], files.picture_svg.encode())
    if is_published(house):
        paths.append(picture_path(path, "png"))
        assembly.write(paths[1], b64decode(files.picture_png))
    return paths


def _write_published(gathered: Gathered, assembly: Assembly, progress: Tell) -> None:
    """Pictures, resized, and files that are published unchanged."""
    source = gathered.source
    keys = {path: key_of("published", path, source.digests[path]) for path in source.published}
    assembly.look_up(keys.values())
    missing = [path for path, key in keys.items() if not assembly.take_over(key)]

    def publish(path: str) -> list[str]:
        made = write_picture(source.folder, path, assembly.site)
        if made and not source.is_unchanged(path):
            raise source.changed(path)
        if not made:
            assembly.write(path, source.published_bytes(path))
        return made or [path]

    # Threads are enough: the picture library releases the interpreter's lock.
    with ThreadPoolExecutor(os.cpu_count() or 1) as pool:
        for done, (path, made) in enumerate(zip(missing, pool.map(publish, missing), strict=True), 1):
            assembly.note(keys[path], made)
            progress("pictures written", done, len(missing))


def _in_order(gathered: Gathered) -> list:
    """Methods by title, then the other pages."""
    return [*gathered.methods, *(page for page in gathered.pages.values() if not page.method)]


def _generated(gathered: Gathered, assembly: Assembly) -> list[Indexed]:
    """The search entries of generated pages, cached by their content."""
    urls = {path: url_of(path) for path in gathered.generated if path != "index.md"}
    keys = {path: key_of("found", path, assembly.hash_of(url)) for path, url in urls.items()}
    kept, found = gathered.cache.notes(keys.values()), []
    for path, key in keys.items():
        if key not in kept:
            text = (assembly.site / urls[path]).read_text("utf-8")
            made = indexed(generated_entry(urls[path], gathered.generated[path], text))
            kept[key] = [made.shown, made.stems, made.words]
            gathered.cache.note(key, kept[key])
        found.append(Indexed(*kept[key]))
    return found


def _manifest(gathered: Gathered) -> str:
    house = gathered.house
    colour = (house.colours and house.colours.main) or ""
    return manifest(house.kitchen, colour, mark_of(gathered.source.folder, house))


def _figure_lines(method: MadeMethod, house: House) -> str:
    """A method's part of the record, with its cost."""
    lines, at = unpack(method.figures), method.cost_at
    return lines[:at] + cost_lines(cost_figures(method.bill, house)) + lines[at:]


def _write_record(gathered: Gathered, site: Path) -> None:
    """Write the record of the build's figures, for comparison with other builds."""
    methods = sorted(gathered.methods, key=lambda page: page.path)
    lines = (_figure_lines(page.method, gathered.house) for page in methods)
    with (site / FILE).open("w", encoding="utf-8", errors="backslashreplace", newline="\n") as record:
        record.writelines(record_parts(__version__, digest(house_text(gathered.house, gathered.tables), 12), lines))
