;;; office-ts-mode.el --- Telephone offices, read by tree-sitter  -*- lexical-binding: t; -*-

;; Package-Requires: ((emacs "29.1"))

;;; Commentary:

;; `office-mode' with the tree of the text: colours by what a word is, indentation, movement by statements and an outline, also without a
;; server.  It wants the parser of grammar/tree-sitter-office, built as `libtree-sitter-office'.

;;; Code:

(require 'treesit)
(require 'office-mode)

(defvar office-ts-mode-font-lock
  '(:language office :feature comment
    ((comment) @font-lock-comment-face)

    :language office :feature string
    ((text) @font-lock-string-face
     (use path: (word) @font-lock-string-face))

    :language office :feature keyword
    (["use" "part" "spare" "assigned" "defective" "bunched" "tapped" "accept" "on" "because" "until" "reading" "when" "expect"
      "with" "then"]
     @font-lock-keyword-face
     (medium) @font-lock-keyword-face)

    :language office :feature definition
    ((thing kind: (word) @font-lock-type-face)
     (part kind: (word) @font-lock-type-face)
     (thing name: (word) @font-lock-function-name-face)
     (part name: (word) @font-lock-function-name-face)
     (thing part: (word) @font-lock-constant-face))

    :language office :feature property
    ((field name: (word) @font-lock-property-name-face))

    :language office :feature number
    ((number) @font-lock-number-face
     (date) @font-lock-number-face
     (unit) @font-lock-type-face)

    :language office :feature name
    ((end name: (word) @font-lock-variable-use-face)
     (spare thing: (word) @font-lock-variable-use-face)
     (stated thing: (word) @font-lock-variable-use-face)
     (reading thing: (word) @font-lock-variable-use-face)
     (accept thing: (word) @font-lock-variable-use-face)
     (accept rule: (word) @font-lock-function-call-face))

    :language office :feature operator
    (["->" ".." ":"] @font-lock-operator-face
     ["{" "}"] @font-lock-bracket-face
     "," @font-lock-delimiter-face))
  "What stands out, by the nodes of the tree.")

(defvar office-ts-mode-indentation
  '((office
     ((node-is "}") parent-bol 0)
     ((parent-is "block") parent-bol 4)
     ((parent-is "file") column-0 0)
     (catch-all prev-line 0)))
  "Fields stand in by four columns, statements at the margin.")

(defun office-ts-mode--name (node)
  "The name of the thing or part that NODE declares."
  (let ((name (treesit-node-child-by-field-name node "name")))
    (and name (treesit-node-text name t))))

;;;###autoload
(define-derived-mode office-ts-mode office-mode "Office"
  "Major mode for telephone offices, with the tree of their text."
  (when (treesit-ready-p 'office)
    (treesit-parser-create 'office)
    (setq-local treesit-font-lock-settings (apply #'treesit-font-lock-rules office-ts-mode-font-lock)
                treesit-font-lock-feature-list '((comment string) (keyword definition) (property number) (name operator))
                treesit-simple-indent-rules office-ts-mode-indentation
                treesit-defun-type-regexp (rx bos (or "thing" "part" "run") eos)
                treesit-defun-name-function #'office-ts-mode--name
                treesit-simple-imenu-settings '(("Part" "\\`part\\'" nil nil) ("Thing" "\\`thing\\'" nil nil)))
    (treesit-major-mode-setup)))

(when (treesit-ready-p 'office t)
  (add-to-list 'auto-mode-alist '("\\.office\\'" . office-ts-mode)))

(provide 'office-ts-mode)
;;; office-ts-mode.el ends here
