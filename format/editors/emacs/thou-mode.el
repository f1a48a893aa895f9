;;; thou-mode.el --- logs of engine builds  -*- lexical-binding: t -*-
;; Put this folder on `load-path' and (require 'thou-mode) into your init file.
;; C-c C-c checks the log; M-g n (next-error) goes from finding to finding.
;;; Code:

(require 'compile)
(require 'thou-names)

(defvar font-lock-beg) ; bound while font-lock extends its region

(defun thou--match-block (limit)
  "Find a note between >> and << before LIMIT."
  (when (re-search-forward "^[[:blank:]]*>>[[:blank:]]*$" limit t)
    (let ((start (match-beginning 0)))
      (unless (re-search-forward "^[[:blank:]]*<<[[:blank:]]*$" limit t)
        (goto-char limit))
      (set-match-data (list start (point)))
      t)))

(defun thou--extend-region ()
  "Make the region to colour begin where a note between >> and << begins."
  (save-excursion
    (goto-char font-lock-beg)
    (let ((open (and (re-search-backward "^[[:blank:]]*\\(>>\\|<<\\)[[:blank:]]*$" nil t)
                     (match-beginning 0))))
      (when (and open (string= (match-string 1) ">>") (< open font-lock-beg))
        (setq font-lock-beg open)))))

(defconst thou-font-lock-keywords
  `((thou--match-block 0 font-lock-comment-face t)
    ("^[[:blank:]]*[>;].*$" 0 font-lock-comment-face keep)
    (,thou-heading-regexp 0 font-lock-function-name-face keep)
    ("[[:blank:]]\\(;.*\\)$" 1 font-lock-comment-face keep)
    (,thou-name-regexp 1 font-lock-variable-name-face keep)
    (,thou-column-regexp 1 font-lock-variable-name-face keep)
    ("^[[:blank:]]*\\(x\\|limit\\|aim\\|accept\\)[[:blank:]]" 1 font-lock-keyword-face keep)
    (,thou-value-regexp (1 font-lock-constant-face keep) (2 font-lock-type-face keep t))
    ("[[:blank:]]\\([?]\\)\\(?:[[:blank:]]\\|$\\)" 1 font-lock-warning-face keep))
  "What is coloured in a log.")

(defun thou-check ()
  "Check the log at hand."
  (interactive)
  (compile (concat "thou check " (shell-quote-argument (file-relative-name buffer-file-name)))))

(defvar thou-mode-map
  (let ((map (make-sparse-keymap)))
    (define-key map (kbd "C-c C-c") #'thou-check)
    map)
  "Keys of `thou-mode'.")

;;;###autoload
(define-derived-mode thou-mode text-mode "thou"
  "Logs of engine builds, part cards and shop.vocab."
  (setq-local comment-start "> ")
  (setq-local font-lock-multiline t)
  (setq-local font-lock-defaults '(thou-font-lock-keywords t t))
  (add-hook 'font-lock-extend-region-functions #'thou--extend-region nil t))

;;;###autoload
(add-to-list 'auto-mode-alist '("\\.\\(?:job\\|part\\)\\'\\|/shop\\.vocab\\'" . thou-mode))

(provide 'thou-mode)
;;; thou-mode.el ends here
