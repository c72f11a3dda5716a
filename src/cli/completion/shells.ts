/** What a shell needs: it asks the program, which knows its own commands, and shows the answer. */
export const SHELLS = {
  bash: `# stillwarm in bash; in ~/.bashrc: source <(stillwarm completion bash)
_stillwarm() {
  local line=\${COMP_LINE:0:COMP_POINT} words current found before
  # Words as readline has them would be cut at colons.
  read -ra words <<< "$line"
  [[ $line == *[[:space:]] ]] && words+=('')
  current=\${words[\${#words[@]}-1]}
  COMPREPLY=()
  while IFS= read -r found; do
    if [[ $found == :files ]]; then
      compopt -o filenames 2>/dev/null
      while IFS= read -r found; do COMPREPLY+=("$found"); done < <(compgen -f -- "$current")
      return
    fi
    COMPREPLY+=("\${found%%$'\\t'*}")
  done < <("\${words[0]}" completion words -- "\${words[@]:1}" 2>/dev/null)
  # Readline puts its answer behind the last colon.
  if [[ $current == *:* && $COMP_WORDBREAKS == *:* ]]; then
    before=\${current%"\${current##*:}"}
    COMPREPLY=("\${COMPREPLY[@]#"$before"}")
  fi
}
complete -F _stillwarm stillwarm
`,
  zsh: `#compdef stillwarm
# stillwarm in zsh; in ~/.zshrc, behind compinit: source <(stillwarm completion zsh)
_stillwarm() {
  local found
  local -a texts shown
  while IFS= read -r found; do
    if [[ $found == :files ]]; then
      _files
      return
    fi
    texts+=("\${found%%$'\\t'*}")
    shown+=("\${found//$'\\t'/  }")
  done < <("\${words[1]}" completion words -- "\${(@)words[2,CURRENT]}" 2>/dev/null)
  compadd -l -d shown -a texts
}
compdef _stillwarm stillwarm
`,
  fish: `# stillwarm in fish: stillwarm completion fish > ~/.config/fish/completions/stillwarm.fish
function __stillwarm_words
    set -l words (commandline -opc)
    set -l current (commandline -ct)
    set -l found ($words[1] completion words -- $words[2..-1] "$current" 2>/dev/null)
    if test "$found[1]" = :files
        __fish_complete_path "$current"
    else if test (count $found) -gt 0
        printf '%s\\n' $found
    end
end
complete -c stillwarm -f -a '(__stillwarm_words)'
`,
} as const;
