-- Offices and files of parts are served by `drysheath lsp`.
if vim.fn.has('nvim-0.11') == 0 then
  require('drysheath.older')
  return
end

vim.filetype.add({ extension = { office = 'office' } })

vim.api.nvim_create_autocmd('LspAttach', {
  group = vim.api.nvim_create_augroup('drysheath', {}),
  callback = function(event)
    local client = vim.lsp.get_client_by_id(event.data.client_id)
    if client and client.name == 'drysheath' then
      -- Completing a pair may also shorten the `spare` that holds it, which only this applies.
      vim.lsp.completion.enable(true, client.id, event.buf)
    end
  end,
})

vim.lsp.enable('drysheath')
