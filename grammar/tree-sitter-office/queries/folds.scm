[(thing) (part) (block)] @fold
