"""Modules joined into one do what they do apart: both are run by node, as a browser would."""

from pathlib import Path

import minify
import pytest

from config.static.modules import ModuleError, in_order, join, loads_more
from tests.test_site_js import MODULES, ROOT, node, shown

# Equal names in several modules, a name of the browser's, a name passed on, a counter that
# two share, and the order.
SOURCES = {
    "s/app.js": """import { count, bump as more } from "./deep/counter.js";
import {
  Twice,
  escape,
  half,
} from "./maths.js";
import { counted } from "./deep/last.js";

const name = "app";
more();
async function main() {
  for await (const each of half([2, 4])) console.log(name, each);
  console.log(escape(new Twice(4).value), count(), counted(), this === undefined);
}
console.log("app runs");
await_free(main);
function await_free(make) { make.call(undefined); }
""",
    "s/maths.js": """console.log("maths runs");
export { bump } from "./deep/counter.js";
const name = "maths";
export class Twice { constructor(n) { this.value = `${name} ${2 * n}`; } }
export async function* half(list) { for (const each of list) yield each / 2; }
export const escape = (text) => `<${text}>`;
export const unused = name;
""",
    "s/deep/counter.js": """console.log("counter runs");
let total = 0;
const name = () => total;
function up() { total += 1; }
export { up as bump, name as count };
""",
    "s/deep/last.js": """import { bump } from "../maths.js";
import { count } from "./counter.js";
export const counted = () => { bump(); return `${count()}${escape("ä")}`; };
""",
}


def said(folder: Path, name: str) -> str:
    run = node(str(folder / name))
    assert run.returncode == 0, shown(run)
    return run.stdout


def test_joined_modules_say_what_they_say_apart(tmp_path: Path) -> None:
    (tmp_path / "package.json").write_text('{"type": "module"}')
    for name, source in SOURCES.items():
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).write_text(source)
    apart = said(tmp_path, "s/app.js")

    joined = join("s/app.js", SOURCES)
    (tmp_path / "joined.js").write_text(joined)
    (tmp_path / "small.js").write_text(minify.string("text/javascript", joined))

    assert apart.splitlines() == [
        "counter runs",
        "maths runs",
        "app runs",
        "app 1",
        "app 2",
        "<maths 8> 1 2%E4 true",
    ]
    assert said(tmp_path, "joined.js") == apart
    assert said(tmp_path, "small.js") == apart


@pytest.mark.parametrize(
    ("line", "part"),
    [
        ('import * as all from "./b.js";', "cannot be joined"),
        ('import all from "./b.js";', "cannot be joined"),
        ('import "./b.js";', "cannot be joined"),
        ('  import { b } from "./b.js";', "cannot be joined"),
        ("import { b } from './b.js';", "cannot be joined"),
        ('import { b.c } from "./b.js";', "'b.c'"),
        ('import { b } from "b.js";', 'no module "b.js"'),
        ('import { b } from "./c.js";', 'no module "./c.js"'),
        ('import { c } from "./b.js";', "s/b.js exports no c"),
        ('export { c } from "./b.js";', "s/b.js exports no c"),
        ("export default 1;", "cannot be joined"),
        ("export let a = 1;", "cannot be joined"),
        ("export const { a } = {};", "cannot be joined"),
        ('export * from "./b.js";', "cannot be joined"),
        ("let a = 1;\nexport { a };", "a changes"),
        ('await import("./b.js");\n import("./b.js");', "cannot be joined"),
        ("const $from0 = 1;", "kept for joining"),
        ('import { b } from "./back.js";', "s/app.js -> s/back.js -> s/app.js"),
    ],
)
def test_what_cannot_be_carried_over_is_refused(line: str, part: str) -> None:
    sources = {
        "s/app.js": f"{line}\n",
        "s/b.js": "export const b = 1;\n",
        "s/back.js": 'import { x } from "./app.js";\nexport const b = x;\n',
    }

    with pytest.raises(ModuleError) as refused:
        join("s/app.js", sources)

    assert part in str(refused.value)
    assert "s/app.js" in str(refused.value)


@pytest.mark.parametrize(
    ("script", "more"),
    [
        ('f(import("./a.js"))', True),
        ("const x=import.meta.url", True),
        ('say("What you import (or export) stays.")', True),
        ("a.important(1)", False),
    ],
)
def test_a_script_that_loads_more_is_known(script: str, more: bool) -> None:
    assert loads_more(script) is more


def test_every_module_of_the_scoring_pages_is_joined() -> None:
    folder = ROOT / "static"
    sources = {path.relative_to(folder).as_posix(): path.read_text() for path in MODULES}

    assert sources.keys() - in_order("site/app.js", sources) == {"site/worker.js"}
