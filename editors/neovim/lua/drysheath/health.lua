-- `:checkhealth drysheath`: whether the program is there, and whether it serves the buffer in sight.
local M = {}

function M.check()
  vim.health.start('drysheath')
  if vim.fn.has('nvim-0.11') == 0 then
    vim.health.error('Neovim 0.11 or later is needed', 'an older one has the colours of `editors/vim`, without a server')
    return
  end
  local command = (vim.lsp.config.drysheath or {}).cmd
  local program = type(command) == 'table' and command[1] or nil
  if not program then
    vim.health.error('no language server is configured', "the folder `lsp` of this plugin is not on the 'runtimepath'")
    return
  end
  if vim.fn.executable(program) == 0 then
    vim.health.error(('`%s` is not on the path'):format(program), {
      'build it: cargo install --path crates/cli',
      "or name it: vim.lsp.config('drysheath', { cmd = { '/path/to/drysheath', 'lsp' } })",
    })
    return
  end
  local said = vim.trim(vim.fn.system({ program, '--version' }))
  if vim.v.shell_error == 0 and vim.startswith(said, 'drysheath ') then
    vim.health.ok(('%s at %s'):format(said, vim.fn.exepath(program)))
  else
    vim.health.error(('`%s --version` says: %s'):format(program, said))
    return
  end
  local clients = vim.lsp.get_clients({ name = 'drysheath' })
  local served = {}
  for _, client in ipairs(clients) do
    served = vim.tbl_extend('force', served, client.attached_buffers)
  end
  local offices = vim.tbl_filter(function(buffer)
    return vim.api.nvim_buf_is_loaded(buffer) and vim.bo[buffer].filetype == 'office'
  end, vim.api.nvim_list_bufs())
  local alone = vim.tbl_filter(function(buffer) return not served[buffer] end, offices)
  if #offices == 0 then
    vim.health.info('no office is open')
  elseif #alone > 0 then
    vim.health.error(('%d of %d open offices have no server: nothing in them is checked'):format(#alone, #offices), {
      'one that was opened a moment ago may still wait for it: ask again',
      "switch it on: vim.lsp.enable('drysheath')",
      'read why it ended: ' .. vim.lsp.log.get_filename(),
    })
  end
  for _, client in ipairs(clients) do
    local buffers = vim.tbl_keys(client.attached_buffers)
    vim.health.ok(('a server runs for %s, %d buffers'):format(client.root_dir or 'single files', #buffers))
    if not client.root_dir then
      vim.health.warn('no `drysheath.toml` or `.git` above the file', 'the paths of `use` start at the folder that holds `drysheath.toml`')
    end
  end
end

return M
