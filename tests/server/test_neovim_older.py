"""The Neovim of the system, where it is older than 0.11 (Debian bookworm has 0.7.2), set up as the pages say in an empty home folder."""

import json
import os
import re
import shutil
import subprocess

import pytest
from client import ROOT
from harness.debian import ensure
from neovim import PATIENCE, Neovim, empty_home

# It may have to be installed first, once.
pytestmark = pytest.mark.xdist_group("neovim")
TAKES = "vim.ui.select = function(items, _, take) take(items[1], 1) end; vim.ui.input = function(_, take) take('far-end') end;"
"""Answers what Neovim asks: the first of all, and a name."""


def is_there():
    found = shutil.which("nvim")
    said = found and subprocess.run([found, "--version"], capture_output=True, text=True, check=True).stdout
    version = said and re.match(r"NVIM v(\d+)\.(\d+)", said)
    return version and tuple(map(int, version.groups())) < (0, 11)


@pytest.fixture(scope="session")
def older():
    ensure("neovim", is_there)
    return shutil.which("nvim")


@pytest.fixture
def neovim(older, tmp_path, on_path):
    environment, started = empty_home(tmp_path, on_path), []

    def run(file, *options):
        started.append(Neovim(older, tmp_path, environment, *options, str(file)))
        return started[-1]

    yield run
    for editor in started:
        editor.close()


def attached(editor):
    editor.wait(lambda: editor.lua("#vim.tbl_filter(function(it) return it.initialized end, vim.lsp.get_active_clients())") == 1, "no server")
    editor.shows([])


def test_its_page_leads_from_an_empty_home_folder_to_results(neovim, faults):
    editor = neovim(faults / "pairs" / "pair-assigned-twice.office")
    editor.shows([(50, "pair-assigned-twice")])
    assert editor.lua("{ vim.bo.filetype, vim.b.current_syntax, vim.bo.commentstring }") == ["office", "office", "# %s"]
    editor.keys(":checkhealth drysheath<CR>")
    said = editor.wait(lambda: health if "drysheath" in (health := editor.text()) and "office" not in health else None, "no health")
    assert "OK: drysheath " in said and "a server runs for" in said and "ERROR" not in said, said


def test_a_doubled_pair_is_mended(neovim, faults):
    editor = neovim(faults / "pairs" / "pair-assigned-twice.office")
    editor.shows([(50, "pair-assigned-twice")])
    editor.keys("gg]d")
    editor.wait(lambda: editor.lua("vim.api.nvim_win_get_cursor(0)[1]") == 50, "the result was not gone to")
    # It asks which action to take once the server has answered, and hears nothing else meanwhile.
    editor.lua(f"(function() {TAKES} return true end)()")
    editor.keys("gra")
    editor.shows([])
    assert "tb pair 4        -> m1 sensor 4" in editor.text()
    assert "spare tb pair 5 .. 20" in editor.text()


def test_the_next_free_pair_is_completed(neovim, faults):
    editor = neovim(faults / "clean.office")
    attached(editor)
    editor.cursor("tb pair 4        -> m1 sensor 4")
    editor.keys("d$atb pair ")
    editor.wait(lambda: editor.results(), "half a wire gives a result")
    editor.keys("<C-x><C-o>")
    menu = editor.wait(lambda: editor.lua('vim.fn.complete_info({ "items" }).items'), "nothing was offered")
    assert (menu[0]["word"], menu[0]["info"]) == ("4", "white-brown")
    editor.keys("<C-y> -> m1 sensor <C-x><C-o>")
    menu = editor.wait(lambda: editor.lua('vim.fn.complete_info({ "items" }).items'), "nothing was offered")
    assert menu[0]["word"] == "4"
    editor.keys("<C-y><Esc>")
    assert "-> tb pair 4 -> m1 sensor 4\n" in editor.text()
    editor.shows([])


def test_a_thing_is_renamed(neovim, faults):
    editor = neovim(faults / "clean.office")
    attached(editor)
    editor.lua(f"(function() {TAKES} return true end)()")
    editor.cursor("wire ps2", len("wire "))
    editor.keys("grn")
    editor.wait(lambda: "wire far-end" in editor.text(), "the wire kept its end")
    assert "pressure-sensor far-end" in editor.text()


def test_a_completed_pair_that_is_still_said_to_be_spare_is_reported(neovim, faults):
    """This Neovim takes the word of a completion only, not what it would change elsewhere; the page says so."""
    editor = neovim(faults / "clean.office")
    attached(editor)
    editor.cursor("tb pair 4        -> m1 sensor 4", len("tb pair "))
    editor.keys("s<C-x><C-o>")
    menu = editor.wait(lambda: editor.lua('vim.fn.complete_info({ "items" }).items'), "nothing was offered")
    assert [item["word"] for item in menu[:2]] == ["4", "5"]
    editor.keys("<C-n><C-y><Esc>")
    editor.shows([(52, "spare-in-use")])
    assert "tb pair 5        -> m1 sensor 4" in editor.text()


def test_the_layout_is_the_commands(neovim, faults, program):
    editor = neovim(faults / "clean.office")
    attached(editor)
    wanted = editor.text()
    editor.keys(":%s/  \\+/ /<CR>")
    editor.wait(lambda: editor.text() != wanted, "nothing was untidied")
    untidy = editor.text()
    editor.keys(":lua vim.lsp.buf.formatting_sync()<CR>")
    editor.wait(lambda: editor.text() != untidy, "nothing was laid out")
    arguments = [str(program), "format", "-"]
    laid_out = subprocess.run(arguments, input=untidy, capture_output=True, text=True, encoding="utf-8", check=True).stdout
    assert editor.text() == laid_out


def test_the_keys_of_its_page_answer(neovim, faults):
    editor = neovim(faults / "clean.office")
    attached(editor)
    editor.cursor("wire ps1", len("wire "))
    editor.keys("K")
    floating = "vim.api.nvim_buf_get_lines(vim.api.nvim_win_get_buf(vim.api.nvim_list_wins()[2] or 0), 0, -1, false)"
    editor.wait(lambda: any("should read" in line for line in editor.lua(floating)), "no hover")
    editor.keys("jk")
    editor.cursor("wire ps1", len("wire "))
    editor.keys("<C-]>")
    editor.wait(lambda: editor.lua("vim.api.nvim_get_current_line()").startswith("pressure-sensor ps1"), "no declaration")
    editor.keys("grr")
    editor.wait(lambda: editor.lua("#vim.fn.getqflist()") > 1, "no uses")
    editor.keys(":cclose<CR>gO")
    editor.wait(lambda: editor.lua("#vim.fn.getqflist()") > 10, "no outline")
    assert editor.lua("vim.v.errmsg") == ""


def test_keys_that_are_bound_already_stay_so(neovim, faults):
    editor = neovim(faults / "clean.office", "--cmd", "nnoremap K :let g:own = 1<CR>")
    attached(editor)
    editor.keys("K")
    editor.wait(lambda: editor.lua("vim.g.own") == 1, "K does something else")


def test_it_says_that_there_is_no_program(older, tmp_path, faults):
    environment = empty_home(tmp_path, "/nowhere")
    environment["PATH"] = os.pathsep.join(one for one in environment["PATH"].split(os.pathsep) if not shutil.which("drysheath", path=one))
    editor = Neovim(older, tmp_path, environment, str(faults / "clean.office"))
    try:
        editor.keys(":checkhealth drysheath<CR>")
        said = editor.wait(lambda: health if "## drysheath" in (health := editor.text()) else None, "no health")
        assert "ERROR: `drysheath` is not on the path" in said, said
    finally:
        editor.close()


def test_the_files_of_vim_alone_fill_the_list_of_results(older, tmp_path, on_path, faults):
    """Without a server, as the page of all editors says: the folders of `vim` in ~/.config/nvim."""
    home = tmp_path / "home"
    home.mkdir()
    page = (ROOT / "editors" / "README.md").read_text(encoding="utf-8")
    steps = page.split("## Vim", 1)[1].split("```sh\n", 1)[1].split("```", 1)[0]
    environment = {key: value for key, value in os.environ.items() if not key.startswith("XDG_")}
    environment |= {"HOME": str(home), "PATH": f"{on_path}{os.pathsep}{os.environ['PATH']}", "LC_ALL": "C.UTF-8"}
    subprocess.run(["sh", "-eu", "-c", steps.replace("~/.vim", "~/.config/nvim")], cwd=ROOT, env=environment, check=True)
    told = tmp_path / "told.json"
    script = tmp_path / "script.lua"
    script.write_text(
        "vim.cmd('silent make!')\n"
        "local valid = vim.tbl_filter(function(it) return it.valid == 1 end, vim.fn.getqflist())\n"
        "local list = vim.tbl_map(function(it) return { it.lnum, it.col, it.type, it.text } end, valid)\n"
        f"vim.fn.writefile({{ vim.json.encode({{ list, vim.b.current_syntax, vim.bo.commentstring, #vim.lsp.get_active_clients() }}) }}, '{told}')\n"
        "vim.cmd('qall!')\n",
        encoding="utf-8",
    )
    command = [older, "--headless", str(faults / "pairs" / "pair-assigned-twice.office"), "-S", str(script)]
    done = subprocess.run(command, env=environment, capture_output=True, text=True, encoding="utf-8", timeout=PATIENCE)
    assert told.exists(), done.stderr
    list_, syntax, comment, clients = json.loads(told.read_text(encoding="utf-8"))
    assert (syntax, comment, clients) == ("office", "# %s", 0)
    assert len(list_) == 1, list_
    line, column, level, text = list_[0]
    assert (line, column, level.lower()) == (50, 52, "e"), list_
    assert text.startswith("pair 3 of `tb` already carries another signal"), text
