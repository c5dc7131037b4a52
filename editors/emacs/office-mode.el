;;; office-mode.el --- Telephone offices kept dry by air  -*- lexical-binding: t; -*-

;; Package-Requires: ((emacs "27.1") (eglot "1.9"))

;;; Commentary:

;; A major mode for the offices and files of parts that `drysheath' reads.  With Eglot their results, completions, names and
;; layout come from `drysheath lsp'.

;;; Code:

(defvar office-mode-syntax-table
  (let ((table (make-syntax-table)))
    (modify-syntax-entry ?# "<" table)
    (modify-syntax-entry ?\n ">" table)
    (modify-syntax-entry ?\" "\"" table)
    (modify-syntax-entry ?- "_" table)
    (modify-syntax-entry ?_ "_" table)
    table)
  "Comments start at `#', and `-' belongs to names.")

(defvar office-mode-font-lock
  `(("^\\s-*\\(use\\)\\_>\\s-+\\(.*\\)" (1 font-lock-keyword-face) (2 font-lock-string-face))
    ("^\\(accept\\|spare\\|assigned\\|defective\\|bunched\\|tapped\\|air\\|wire\\|power\\|ground\\)\\_>" 1 font-lock-keyword-face)
    ("^\\(part\\)\\s-+\\(\\(?:\\sw\\|\\s_\\)+\\)\\s-+\\(\\(?:\\sw\\|\\s_\\)+\\)"
     (1 font-lock-keyword-face) (2 font-lock-type-face) (3 font-lock-function-name-face))
    ("^\\([a-z-]+\\)\\s-+\\(\\(?:\\sw\\|\\s_\\)+\\)\\s-*[:{]"
     (1 font-lock-type-face) (2 font-lock-function-name-face))
    ("->\\|\\.\\." . font-lock-builtin-face)
    ("\\_<-?[0-9][0-9/.]*\\_>" . font-lock-constant-face))
  "What stands out in an office, beside texts and comments.")

;;;###autoload
(define-derived-mode office-mode prog-mode "Office"
  "Major mode for telephone offices and the parts they are made of."
  (setq-local comment-start "# ")
  (setq-local comment-start-skip "#+\\s-*")
  (setq-local tab-width 4)
  (setq-local indent-tabs-mode nil)
  (setq-local font-lock-defaults '(office-mode-font-lock)))

;;;###autoload
(add-to-list 'auto-mode-alist '("\\.office\\'" . office-mode))

(defvar eglot-server-programs)
(with-eval-after-load 'eglot
  (add-to-list 'eglot-server-programs '(office-mode . ("drysheath" "lsp"))))

(provide 'office-mode)
;;; office-mode.el ends here
