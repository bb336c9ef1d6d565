; Installs for the user who runs it, without an administrator. VERSION and FROM
; (the folder of what is packed) come from the Makefile.
Target amd64-unicode ; as the program is
SetCompressor /SOLID lzma
Name "Retrostage ${VERSION}"
OutFile "${OUT}"
RequestExecutionLevel user
InstallDir "$LOCALAPPDATA\Programs\Retrostage"
Icon "${FROM}\retrostage.ico"
UninstallIcon "${FROM}\retrostage.ico"
LicenseData "${FROM}\LICENSE.txt"
Page license
Page directory
Page instfiles
UninstPage uninstConfirm
UninstPage instfiles
!define GONE "Software\Microsoft\Windows\CurrentVersion\Uninstall\Retrostage"
; A job file ends in .job.json. Windows knows only the last ending, and all of
; .json is not ours to take: the entry is added to the menu of such files, and
; what opens them at a double tap stays as it was.
!define MENU "Software\Classes\SystemFileAssociations\.json\shell\Retrostage"

Section
  SetOutPath "$INSTDIR"
  File "${FROM}\retrostage.exe"
  File "${FROM}\LICENSE.txt"
  File "${FROM}\LICENCES.txt"
  File "${FROM}\CHANGELOG.txt"
  WriteUninstaller "$INSTDIR\uninstall.exe"
  CreateShortcut "$SMPROGRAMS\Retrostage.lnk" "$INSTDIR\retrostage.exe"
  WriteRegStr HKCU "${MENU}" "" "Open with Retrostage"
  WriteRegStr HKCU "${MENU}" "AppliesTo" 'System.FileName:"*.job.json"'
  WriteRegStr HKCU "${MENU}" "Icon" "$INSTDIR\retrostage.exe"
  WriteRegStr HKCU "${MENU}\command" "" '"$INSTDIR\retrostage.exe" --job "%1"'
  WriteRegStr HKCU "${GONE}" "DisplayName" "Retrostage"
  WriteRegStr HKCU "${GONE}" "DisplayVersion" "${VERSION}"
  WriteRegStr HKCU "${GONE}" "DisplayIcon" "$INSTDIR\retrostage.exe"
  WriteRegStr HKCU "${GONE}" "UninstallString" '"$INSTDIR\uninstall.exe"'
  WriteRegDWORD HKCU "${GONE}" "NoModify" 1
  WriteRegDWORD HKCU "${GONE}" "NoRepair" 1
SectionEnd

; Only what was installed goes, file by file: jobs, exports and anything that
; somebody put into the folder stay.
Section "Uninstall"
  Delete "$INSTDIR\retrostage.exe"
  Delete "$INSTDIR\LICENSE.txt"
  Delete "$INSTDIR\LICENCES.txt"
  Delete "$INSTDIR\CHANGELOG.txt"
  Delete "$INSTDIR\uninstall.exe"
  RMDir "$INSTDIR"
  Delete "$SMPROGRAMS\Retrostage.lnk"
  DeleteRegKey HKCU "${MENU}"
  DeleteRegKey HKCU "${GONE}"
SectionEnd
