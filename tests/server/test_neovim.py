"""Neovim, with the files of editors/neovim and no others, driven by the keys that its user presses."""

import json
import os
import pathlib
import shutil
import subprocess
import sys

import pytest
from client import ROOT
from neovim import EDITOR, PATIENCE, Neovim, empty_home


@pytest.fixture
def neovim(tmp_path, on_path):
    started = []

    def run(file):
        program = pathlib.Path(sys.executable).with_name("nvim")
        environment = {**os.environ, "PATH": f"{on_path}{os.pathsep}{os.environ['PATH']}"}
        search = f"set runtimepath^={EDITOR} runtimepath^={ROOT / 'editors' / 'vim'} noswapfile"
        editor = Neovim(str(program), tmp_path, environment, "--clean", "--cmd", search, str(file))
        started.append(editor)
        return editor

    yield run
    for editor in started:
        editor.close()


def test_a_doubled_pair_is_seen_mended_and_gone(neovim, faults):
    editor = neovim(faults / "pairs" / "pair-assigned-twice.office")
    editor.shows([(50, "pair-assigned-twice")])
    shown = editor.lua("vim.diagnostic.get(0)[1]")
    assert (shown["col"], shown["end_col"], shown["source"]) == (51, 60, "drysheath")
    assert shown["message"].startswith("pair 3 of `tb` already carries another signal")
    editor.cursor("tb pair 3        -> m1 sensor 4")
    editor.keys(":lua vim.lsp.buf.code_action({ apply = true, filter = function(it) return it.isPreferred end })<CR>")
    editor.shows([])
    assert "tb pair 4        -> m1 sensor 4" in editor.text()
    assert "spare tb pair 5 .. 20" in editor.text()
    # Undone, it is there again.
    editor.keys("u")
    editor.shows([(50, "pair-assigned-twice")])


def test_the_next_free_pair_is_completed(neovim, faults):
    editor = neovim(faults / "clean.office")
    editor.wait(lambda: editor.lua("#vim.lsp.get_clients({ bufnr = 0 })") == 1, "the server did not start")
    editor.shows([])
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


def test_a_pair_that_is_said_to_be_spare_is_taken_out_of_the_spares(neovim, faults):
    editor = neovim(faults / "clean.office")
    editor.wait(lambda: editor.lua("#vim.lsp.get_clients({ bufnr = 0 })") == 1, "the server did not start")
    editor.cursor("tb pair 4        -> m1 sensor 4", len("tb pair "))
    editor.keys("s<C-x><C-o>")
    menu = editor.wait(lambda: editor.lua('vim.fn.complete_info({ "items" }).items'), "nothing was offered")
    assert [item["word"] for item in menu[:2]] == ["4", "5"]
    editor.keys("<C-n><C-y><Esc>")
    editor.wait(lambda: "tb pair 5        -> m1 sensor 4" in editor.text(), "the second was not taken")
    editor.wait(lambda: "spare tb pair 6 .. 20" in editor.text(), "it is still declared spare")


def test_names_change_here_and_in_other_files(neovim, faults):
    editor = neovim(faults / "clean.office")
    editor.wait(lambda: editor.lua("#vim.lsp.get_clients({ bufnr = 0 })") == 1, "the server did not start")
    editor.shows([])
    editor.cursor("wire ps2", len("wire "))
    editor.keys(':lua vim.lsp.buf.rename("far-end")<CR>')
    editor.wait(lambda: "wire far-end" in editor.text(), "the wire kept its end")
    assert "pressure-sensor far-end" in editor.text()
    assert editor.text().replace("formerly ps2", "").count("ps2") == 0
    editor.cursor(": watcher", 2)
    editor.keys(':lua vim.lsp.buf.rename("observer")<CR>')
    editor.wait(lambda: ": observer" in editor.text(), "the part kept its name")
    editor.shows([])
    editor.keys(":wall<CR>")
    kit = faults / "parts" / "kit.office"
    editor.wait(lambda: "part monitor observer {" in kit.read_text(), "the file of parts was not changed")
    others = lambda: [path for path in (faults / "pairs").glob("*.office") if ": watcher" in path.read_text()]
    editor.wait(lambda: not others(), "not every file that uses the part was changed")


def test_the_layout_is_the_commands(neovim, faults, program):
    file = faults / "clean.office"
    wanted = file.read_text()
    editor = neovim(file)
    editor.wait(lambda: editor.lua("#vim.lsp.get_clients({ bufnr = 0 })") == 1, "the server did not start")
    editor.shows([])
    editor.keys(":%s/  \\+/ /<CR>")
    editor.wait(lambda: editor.text() != wanted, "nothing was untidied")
    untidy = editor.text()
    editor.keys(":lua vim.lsp.buf.format()<CR>")
    editor.wait(lambda: editor.text() != untidy, "nothing was laid out")
    arguments = [str(program), "format", "-"]
    laid_out = subprocess.run(arguments, input=untidy, capture_output=True, text=True, encoding="utf-8", check=True).stdout
    assert editor.text() == laid_out


def test_what_a_part_says_reaches_the_other_buffer(neovim, faults):
    editor = neovim(faults / "clean.office")
    editor.wait(lambda: editor.lua("#vim.lsp.get_clients({ bufnr = 0 })") == 1, "the server did not start")
    editor.keys(":set hidden<CR>:edit " + str(faults / "parts" / "kit.office") + "<CR>")
    editor.wait(lambda: "part monitor watcher" in editor.text(), "the parts were not opened")
    editor.keys("gg/sensors<CR>f8r3")
    shown = "vim.tbl_map(function(it) return it.code end, vim.diagnostic.get(vim.fn.bufnr('clean.office')))"
    editor.wait(lambda: "input-out-of-range" in (editor.lua(shown) or []), "the office did not hear of it")
    editor.keys("u")
    editor.wait(lambda: not editor.lua(shown), "the office did not hear that it was undone")


def test_everything_else_answers(neovim, faults):
    """Hover, hints, outline, tokens, folds, links, lenses: asked by Neovim in its own way, none gives an error."""
    editor = neovim(faults / "clean.office")
    editor.wait(lambda: editor.lua("#vim.lsp.get_clients({ bufnr = 0 })") == 1, "the server did not start")
    editor.shows([])
    editor.cursor("wire ps1", len("wire "))
    editor.keys("K")
    floating = "vim.api.nvim_buf_get_lines(vim.api.nvim_win_get_buf(vim.api.nvim_list_wins()[2] or 0), 0, -1, false)"
    editor.wait(lambda: any("should read" in line for line in editor.lua(floating)), "no hover")
    editor.keys("jk")
    editor.keys(":lua vim.lsp.inlay_hint.enable(true)<CR>")
    editor.wait(lambda: editor.lua("#vim.lsp.inlay_hint.get({ bufnr = 0 })"), "no hints")
    editor.keys(":lua vim.lsp.codelens.refresh({ bufnr = 0 })<CR>")
    editor.wait(lambda: editor.lua("#vim.lsp.codelens.get(0)"), "no lenses")
    editor.keys(":set foldmethod=expr foldexpr=v:lua.vim.lsp.foldexpr() foldlevel=99<CR>")
    editor.wait(lambda: editor.lua("vim.fn.foldlevel(6)"), "no folds")
    editor.cursor("wire ps1", len("wire "))
    editor.keys("<C-]>")
    editor.wait(lambda: editor.lua("vim.api.nvim_get_current_line()").startswith("pressure-sensor ps1"), "no declaration")
    editor.keys("grr")
    editor.wait(lambda: editor.lua("#vim.fn.getqflist()") > 1, "no uses")
    editor.keys(":cclose<CR>gO")
    editor.wait(lambda: editor.lua("#vim.fn.getloclist(0)") > 10, "no outline")
    assert editor.lua("vim.v.errmsg") == ""


def test_its_page_leads_from_an_empty_home_folder_to_results(tmp_path, on_path, faults):
    """The commands of the page as they stand there, and then Neovim as anybody starts it."""
    environment = empty_home(tmp_path, on_path)
    script = tmp_path / "script.lua"
    script.write_text(
        "vim.wait(30000, function() return #vim.diagnostic.get(0) > 0 end)\n"
        "local codes = vim.tbl_map(function(it) return it.code end, vim.diagnostic.get(0))\n"
        "local syntax = vim.b.current_syntax or ''\n"
        "vim.cmd('checkhealth drysheath')\n"
        "local health = vim.api.nvim_buf_get_lines(0, 0, -1, false)\n"
        "io.stdout:write(vim.json.encode({ codes, syntax, health }))\n"
        "vim.cmd('qall!')\n",
        encoding="utf-8",
    )
    program = str(pathlib.Path(sys.executable).with_name("nvim"))
    command = [program, "--headless", str(faults / "pairs" / "pair-assigned-twice.office"), "-S", str(script)]
    done = subprocess.run(command, env=environment, capture_output=True, text=True, encoding="utf-8", timeout=2 * PATIENCE)
    assert done.returncode == 0, done.stderr
    codes, syntax, health = json.loads(done.stdout[done.stdout.index("[[") :])
    assert (codes, syntax) == (["pair-assigned-twice"], "office"), done.stdout
    said = "\n".join(health)
    assert "OK drysheath " in said and "a server runs for" in said and "ERROR" not in said, said


def test_its_health_says_that_an_open_office_has_no_server(neovim, faults):
    editor = neovim(faults / "clean.office")
    editor.wait(lambda: editor.lua("#vim.lsp.get_clients({ bufnr = 0 })") == 1, "the server did not start")
    editor.keys(":lua vim.lsp.enable('drysheath', false)<CR>:lua vim.lsp.stop_client(vim.lsp.get_clients(), true)<CR>")
    editor.wait(lambda: editor.lua("#vim.lsp.get_clients()") == 0, "the server did not stop")
    editor.keys(":checkhealth drysheath<CR>")
    said = editor.wait(lambda: health if "drysheath" in (health := editor.text()) and "office" in health else None, "no health")
    assert "ERROR 1 of 1 open offices have no server" in said and "is open" not in said, said
