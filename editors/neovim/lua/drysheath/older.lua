-- For Neovim before 0.11, such as Debian's 0.7: starts the server for an office, and binds the keys that 0.11 binds by itself.
local config = dofile(vim.api.nvim_get_runtime_file('lsp/drysheath.lua', false)[1])
local servers = {}

local function above(folder, marker)
  local last
  while folder ~= last do
    if vim.loop.fs_stat(folder .. '/' .. marker) then
      return folder
    end
    folder, last = vim.fn.fnamemodify(folder, ':h'), folder
  end
end

local function root(buffer)
  local folder = vim.fn.fnamemodify(vim.api.nvim_buf_get_name(buffer), ':p:h')
  for _, marker in ipairs(config.root_markers) do
    local found = above(folder, marker)
    if found then
      return found
    end
  end
end

-- One server for each root, and a new one where it has ended.
local function server(folder)
  local key = folder or ''
  if not servers[key] or vim.lsp.client_is_stopped(servers[key]) then
    servers[key] = vim.lsp.start_client({ name = 'drysheath', cmd = config.cmd, root_dir = folder })
  end
  return servers[key]
end

local KEYS = {
  ['[d'] = vim.diagnostic.goto_prev,
  [']d'] = vim.diagnostic.goto_next,
  ['<C-w>d'] = vim.diagnostic.open_float,
  K = vim.lsp.buf.hover,
  gra = vim.lsp.buf.code_action,
  grn = vim.lsp.buf.rename,
  grr = vim.lsp.buf.references,
  gO = vim.lsp.buf.document_symbol,
}

vim.api.nvim_create_autocmd('FileType', {
  group = vim.api.nvim_create_augroup('drysheath', {}),
  pattern = config.filetypes,
  callback = function(event)
    -- Without the program there is none, which Neovim has said then.
    local id = server(root(event.buf))
    if not id then
      return
    end
    vim.lsp.buf_attach_client(event.buf, id)
    vim.bo[event.buf].omnifunc = 'v:lua.vim.lsp.omnifunc'
    vim.bo[event.buf].tagfunc = 'v:lua.vim.lsp.tagfunc'
    for keys, action in pairs(KEYS) do
      -- Whoever has bound them to something else keeps that.
      if vim.fn.maparg(keys, 'n') == '' then
        vim.keymap.set('n', keys, function() action() end, { buffer = event.buf })
      end
    end
  end,
})
