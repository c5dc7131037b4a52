;;; office-ts-test.el --- What the tree of the text does in Emacs  -*- lexical-binding: t; -*-

;; test_emacs_tree_sitter.py runs this in a home folder that is set up as the page says.

(require 'ert)
(require 'imenu)
(load (expand-file-name "init.el" user-emacs-directory))

(defmacro with-office (text &rest body)
  "Run BODY in a buffer of an office that has TEXT."
  (declare (indent 1))
  `(let ((file (make-temp-file "tree" nil ".office" ,text)))
     (unwind-protect
         (with-current-buffer (find-file-noselect file)
           (font-lock-ensure)
           ,@body)
       (delete-file file))))

(defun face-of (text)
  "The face of the only TEXT."
  (goto-char (point-min))
  (search-forward text)
  (get-text-property (match-beginning 0) 'face))

(defconst office
  "use parts/air
regulator r1 : line-regulator {
set 10 psi   # at the outlet
}
air r1 -> mf with 3/8 in tube
accept tubes-do-not-join on r1 because \"made so\" until 2027-01-01
")

(ert-deftest offices-open-in-the-mode ()
  (with-office office
    (should (eq major-mode 'office-ts-mode))
    (should (derived-mode-p 'office-mode))
    (should (equal (treesit-node-type (treesit-buffer-root-node)) "file"))))

(ert-deftest words-are-coloured-by-what-they-are ()
  (with-office office
    (dolist (pair '(("use" . font-lock-keyword-face)
                    ("parts/air" . font-lock-string-face)
                    ("regulator" . font-lock-type-face)
                    ("r1" . font-lock-function-name-face)
                    ("line-regulator" . font-lock-constant-face)
                    ("set" . font-lock-property-name-face)
                    ("10" . font-lock-number-face)
                    ("psi" . font-lock-type-face)
                    ("# at" . font-lock-comment-face)
                    ("air r1" . font-lock-keyword-face)
                    ("mf" . font-lock-variable-use-face)
                    ("tubes-do-not-join" . font-lock-function-call-face)
                    ("\"made" . font-lock-string-face)
                    ("2027" . font-lock-number-face)))
      (let ((treesit-font-lock-level 4))
        (treesit-font-lock-recompute-features)
        (font-lock-flush)
        (font-lock-ensure)
        (should (equal (cons (car pair) (face-of (car pair))) pair))))))

(ert-deftest fields-stand-in-by-four ()
  (with-office office
    (indent-region (point-min) (point-max))
    (goto-char (point-min))
    (should (search-forward "\n    set 10 psi"))
    (should (search-forward "\n}\nair r1"))))

(ert-deftest the-outline-has-what-is-declared ()
  (with-office office
    (let ((things (cdr (assoc "Thing" (funcall imenu-create-index-function)))))
      (should (equal (mapcar #'car things) '("r1"))))))

(ert-deftest movement-is-by-statements ()
  (with-office office
    (search-forward "set")
    (beginning-of-defun)
    (should (looking-at "regulator r1"))
    (end-of-defun)
    (should (looking-at "air r1"))))

(ert-deftest a-half-written-statement-spoils-no-other ()
  (with-office "regulator r1 {\nset 10\n\nair r1 -> mf\n"
    (should (eq (face-of "air r1") 'font-lock-keyword-face))))
