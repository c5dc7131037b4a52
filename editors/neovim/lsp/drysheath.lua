-- How Neovim reaches the server. A `vim.lsp.config('drysheath', { … })` of your own adds to this.
return {
  cmd = { 'drysheath', 'lsp' },
  filetypes = { 'office' },
  root_markers = { 'drysheath.toml', '.git' },
}
