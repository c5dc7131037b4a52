;;; eglot-test.el --- What a user of Emacs does  -*- lexical-binding: t; -*-

;; The folder of the faults is in FAULTS.  test_emacs.py runs each of these tests in an Emacs of its own.

(require 'ert)
(require 'cl-lib)
(require 'package)
(package-activate-all)
(require 'eglot)
(require 'office-mode)

(setq eglot-autoshutdown nil
      eglot-sync-connect 30
      eglot-confirm-server-initiated-edits nil
      make-backup-files nil
      create-lockfiles nil)

(defun wait-until (what there)
  "Wait until THERE gives something, and give it; say WHAT never came."
  (let ((end (+ (float-time) 30)) found)
    (while (not (setq found (funcall there)))
      (when (> (float-time) end) (error "Never: %s" what))
      (accept-process-output nil 0.05))
    found))

(defun tell ()
  "Tell the server what has changed, as the idle timer would."
  (eglot--signal-textDocument/didChange)
  (flymake-start))

(defun rules ()
  "The rules of the results that are shown, each with its text in the buffer."
  (mapcar (lambda (it)
            (cons (plist-get (cdr (assoc 'eglot-lsp-diag (eglot--diag-data it))) :code)
                  (buffer-substring-no-properties (flymake-diagnostic-beg it) (flymake-diagnostic-end it))))
          (flymake-diagnostics)))

(defun shows (expected)
  "Wait until exactly the results of EXPECTED are shown."
  (wait-until (format "%S, but %S" expected (rules))
              (lambda () (flymake-start) (equal (rules) expected))))

(defun open-office (name)
  "Open an office of the faults and connect as `eglot-ensure' does."
  (find-file (expand-file-name name (getenv "FAULTS")))
  (should (eq major-mode 'office-mode))
  (let ((contact (eglot--guess-contact)))
    (should (equal (cl-fourth contact) '("drysheath" "lsp")))
    (apply #'eglot--connect contact))
  (wait-until "managed" (lambda () eglot--managed-mode))
  (flymake-mode 1)
  (flymake-start))

(defun go-to (text)
  "Go to where the only TEXT begins."
  (goto-char (point-min))
  (search-forward text)
  (goto-char (match-beginning 0)))

(defun has (text)
  "Whether the buffer says TEXT."
  (save-excursion (goto-char (point-min)) (search-forward text nil t)))

(defun completions ()
  "What is offered at point, in order, and how to take it."
  (cl-destructuring-bind (start end table . rest) (eglot-completion-at-point)
    (let* ((metadata (completion-metadata "" table nil))
           (sort (completion-metadata-get metadata 'display-sort-function))
           (all (all-completions (buffer-substring-no-properties start end) table)))
      (list (if sort (funcall sort all) all) start end (plist-get rest :exit-function)))))

(ert-deftest a-doubled-pair-is-seen-mended-and-gone ()
  (open-office "pairs/pair-assigned-twice.office")
  (shows '(("pair-assigned-twice" . "tb pair 3")))
  (go-to "tb pair 3        -> m1 sensor 4")
  (let ((last-nonmenu-event ?x))
    (cl-letf (((symbol-function 'completing-read) (lambda (_ _ _ _ _ _ default) default)))
      (eglot-code-actions (point) (+ (point) 9) nil t)))
  (should (has "tb pair 4        -> m1 sensor 4"))
  (should (has "spare tb pair 5 .. 20"))
  (tell)
  (shows nil))

(ert-deftest the-next-free-pair-is-completed ()
  (open-office "clean.office")
  (shows nil)
  (go-to "tb pair 4        -> m1 sensor 4")
  (delete-region (point) (line-end-position))
  (insert "tb pair ")
  (tell)
  (wait-until "half a wire gives a result" #'rules)
  (cl-destructuring-bind (all start end exit) (completions)
    (should (equal (substring-no-properties (car all)) "4"))
    (delete-region start end)
    (insert (car all))
    (funcall exit (car all) 'finished))
  (insert " -> m1 sensor 4")
  (tell)
  (should (has "-> tb pair 4 -> m1 sensor 4\n"))
  (shows nil))

(ert-deftest names-change-here-and-in-other-files ()
  (open-office "clean.office")
  (shows nil)
  (go-to "wire ps2")
  (forward-word 2)
  (backward-char 1)
  (eglot-rename "far-end")
  (should (has "pressure-sensor far-end"))
  (should-not (has "wire ps2"))
  ;; The office is installed: whoever knows the sensor by its old name finds it.
  (should (has "formerly "))
  (tell)
  (go-to ": watcher")
  (forward-char 2)
  (cl-letf (((symbol-function 'y-or-n-p) #'always))
    (eglot-rename "observer"))
  (should (has ": observer"))
  (save-some-buffers t)
  (find-file (expand-file-name "parts/kit.office" (getenv "FAULTS")))
  (should (has "part monitor observer {")))

(ert-deftest the-layout-is-the-commands ()
  (open-office "clean.office")
  (shows nil)
  (goto-char (point-min))
  (while (re-search-forward "   +" nil t) (replace-match "  "))
  (tell)
  (let ((untidy (buffer-substring-no-properties (point-min) (point-max))))
    (eglot-format-buffer)
    (let ((ours (buffer-substring-no-properties (point-min) (point-max))))
      (should-not (equal ours untidy))
      (with-temp-buffer
        (insert untidy)
        (call-process-region (point-min) (point-max) "drysheath" t t nil "format" "-")
        (should (equal ours (buffer-substring-no-properties (point-min) (point-max))))))))

(ert-deftest characters-beyond-the-first-plane ()
  (open-office "clean.office")
  (shows nil)
  (go-to "title           \"Nothing wrong\"")
  (delete-region (point) (line-end-position))
  (insert "title \"Bru\u0308cke 🧭\", stagge installed")
  (tell)
  (wait-until "the slip behind the emoji"
              (lambda () (flymake-start) (equal (alist-get "field-unknown" (rules) nil nil #'equal) "stagge"))))

(ert-deftest everything-else-answers ()
  (open-office "clean.office")
  (shows nil)
  (go-to "wire ps1")
  (forward-word 2)
  (backward-char 1)
  (let (told)
    (eglot-hover-eldoc-function (lambda (text &rest _) (setq told text)))
    (should (string-match-p "should read" (wait-until "a hover" (lambda () told)))))
  (let ((definition (car (xref-backend-definitions 'eglot (xref-backend-identifier-at-point 'eglot)))))
    (should (string-match-p "^pressure-sensor ps1" (substring-no-properties (xref-item-summary definition)))))
  (should (> (length (xref-backend-references 'eglot (xref-backend-identifier-at-point 'eglot))) 1))
  (should (> (length (eglot-imenu)) 2)))

;;; eglot-test.el ends here
