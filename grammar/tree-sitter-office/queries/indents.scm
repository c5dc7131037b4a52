(block) @indent.begin
(run) @indent.begin
(block "}" @indent.branch @indent.end)
