-- `:checkhealth drysheath`: whether the program is there, and whether it serves the buffer in sight.
local M = {}

local is_older = vim.fn.has('nvim-0.11') == 0
local health = vim.health or require('health')

-- Before 0.10 each of these had another name.
local function say(level, ...) (health[level] or health['report_' .. level])(...) end

local function command()
  if is_older then
    local file = vim.api.nvim_get_runtime_file('lsp/drysheath.lua', false)[1]
    return file and dofile(file).cmd
  end
  return (vim.lsp.config.drysheath or {}).cmd
end

local function clients()
  local all = (vim.lsp.get_clients or vim.lsp.get_active_clients)()
  return vim.tbl_filter(function(client) return client.name == 'drysheath' end, all)
end

function M.check()
  say('start', 'drysheath')
  local words = command()
  local program = type(words) == 'table' and words[1] or nil
  if not program then
    say('error', 'no language server is configured', "the folder `lsp` of this plugin is not on the 'runtimepath'")
    return
  end
  if vim.fn.executable(program) == 0 then
    local name = "or name it: vim.lsp.config('drysheath', { cmd = { '/path/to/drysheath', 'lsp' } })"
    say('error', ('`%s` is not on the path'):format(program), { 'build it: cargo install --path crates/cli', not is_older and name or nil })
    return
  end
  local said = vim.trim(vim.fn.system({ program, '--version' }))
  if vim.v.shell_error == 0 and vim.startswith(said, 'drysheath ') then
    say('ok', ('%s at %s'):format(said, vim.fn.exepath(program)))
  else
    say('error', ('`%s --version` says: %s'):format(program, said))
    return
  end
  local served = {}
  for _, client in ipairs(clients()) do
    served = vim.tbl_extend('force', served, client.attached_buffers)
  end
  local offices = vim.tbl_filter(function(buffer)
    return vim.api.nvim_buf_is_loaded(buffer) and vim.bo[buffer].filetype == 'office'
  end, vim.api.nvim_list_bufs())
  local alone = vim.tbl_filter(function(buffer) return not served[buffer] end, offices)
  if #offices == 0 then
    say('info', 'no office is open')
  elseif #alone > 0 then
    say('error', ('%d of %d open offices have no server: nothing in them is checked'):format(#alone, #offices), {
      'one that was opened a moment ago may still wait for it: ask again',
      is_older and 'start it: `:edit` in the office' or "switch it on: vim.lsp.enable('drysheath')",
      'read why it ended: ' .. (vim.lsp.get_log_path or vim.lsp.log.get_filename)(),
    })
  end
  for _, client in ipairs(clients()) do
    local buffers = vim.tbl_keys(client.attached_buffers)
    local root = client.config.root_dir
    say('ok', ('a server runs for %s, %d buffers'):format(root or 'single files', #buffers))
    if not root then
      say('warn', 'no `drysheath.toml` or `.git` above the file', 'the paths of `use` start at the folder that holds `drysheath.toml`')
    end
  end
end

return M
